/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/spreadsheet.h"

#include <string.h>

#include "core/escape.h"

/* "+" and "-" too: a cell that begins with one may still be a formula. So may one that begins with
 * the same character of full width, where East Asian input is usual. */
static bool begins_formula(const char *text) {
  static const char *const starts[] = {"=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"};
  const char *first = text + strspn(text, " \t\r\n");
  for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++)
    if (strncmp(first, starts[i], strlen(starts[i])) == 0)
      return true;
  return false;
}

/* Spreadsheets of many countries part cells at semicolons, also in a file that has commas, and then
 * see no quotes around the cell: what follows a semicolon begins a cell of its own there. */
static void add_harmless(plag_text *out, const char *bytes) {
  for (const char *at = bytes; *at != '\0'; at++) {
    if (*at == '"')
      plag_text_add_char(out, '"');
    plag_text_add_char(out, *at);
    if (*at == ';' && begins_formula(at + 1))
      plag_text_add_char(out, '\'');
  }
}

void plag_cell_add_text(plag_text *out, const char *text) {
  plag_text clean = {0};
  plag_escape_add(&clean, text);
  const char *bytes = clean.bytes != NULL ? clean.bytes : "";
  const bool quoted = strpbrk(bytes, "\",;") != NULL || bytes[0] == ' ';
  const bool steers = text[0] == '\t' || text[0] == '\r' || text[0] == '\n';
  if (quoted)
    plag_text_add_char(out, '"');
  if (steers || begins_formula(bytes))
    plag_text_add_char(out, '\'');
  add_harmless(out, bytes);
  if (quoted)
    plag_text_add_char(out, '"');
  out->failed = out->failed || clean.failed;
  plag_text_clear(&clean);
}

void plag_cell_next(plag_text *out) {
  plag_text_add_char(out, ',');
}

void plag_cell_end_row(plag_text *out) {
  plag_text_add(out, "\r\n");
}
