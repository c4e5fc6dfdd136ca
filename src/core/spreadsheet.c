/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/spreadsheet.h"

#include <string.h>

#include "core/escape.h"

static bool begins_formula(const char *text) {
  if (text[0] == '\t' || text[0] == '\r' || text[0] == '\n')
    return true;
  const char first = text[strspn(text, " \t\r\n")];
  return first != '\0' && strchr("=+-@", first) != NULL;
}

void plag_cell_add_text(plag_text *out, const char *text) {
  plag_text clean = {0};
  plag_escape_add(&clean, text);
  const char *bytes = clean.bytes != NULL ? clean.bytes : "";
  const bool quoted = strpbrk(bytes, "\",;\t\r\n") != NULL || bytes[0] == ' ';
  if (quoted)
    plag_text_add_char(out, '"');
  if (begins_formula(text) || begins_formula(bytes))
    plag_text_add_char(out, '\'');
  for (const char *at = bytes; *at != '\0'; at++) {
    if (*at == '"')
      plag_text_add_char(out, '"');
    plag_text_add_char(out, *at);
  }
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
