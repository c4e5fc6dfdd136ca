/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/html_text.h"

#include <stdbool.h>
#include <string.h>

#include "core/escape.h"

static void add_character(plag_text *out, const char *bytes, size_t count) {
  switch (bytes[0]) {
  case '&':
    plag_text_add(out, "&amp;");
    break;
  case '<':
    plag_text_add(out, "&lt;");
    break;
  case '>':
    plag_text_add(out, "&gt;");
    break;
  case '"':
    plag_text_add(out, "&quot;");
    break;
  case '\'':
    plag_text_add(out, "&#39;");
    break;
  default:
    plag_text_add_bytes(out, bytes, count);
  }
}

static void add_range(plag_text *out, const char *from, const char *to) {
  while (from < to) {
    unsigned point = 0;
    const size_t bytes = plag_utf8_read(from, (size_t)(to - from), &point);
    add_character(out, from, bytes > 0 ? bytes : 1);
    from += bytes > 0 ? bytes : 1;
  }
}

void plag_html_text_add(plag_text *out, const char *text) {
  add_range(out, text, text + strlen(text));
}

/* Hebrew, Arabic and the scripts that stand beside them in Unicode. */
static bool runs_leftward(unsigned point) {
  return (point >= 0x590 && point <= 0x8ff) || (point >= 0xfb1d && point <= 0xfdff) ||
         (point >= 0xfe70 && point <= 0xfeff) || (point >= 0x10800 && point <= 0x10fff) ||
         (point >= 0x1e800 && point <= 0x1efff);
}

/* The first character that runs leftward and the end of the last that follows it with nothing but
 * blanks, digits and marks between; false when there is none. */
static bool find_leftward(const char *text, const char **first, const char **end) {
  *first = NULL;
  const size_t length = strlen(text);
  for (size_t at = 0; at < length;) {
    unsigned point = 0;
    const size_t bytes = plag_utf8_read(text + at, length - at, &point);
    const bool leftward = bytes > 0 && runs_leftward(point);
    const bool letter = (point | 0x20) >= 'a' && (point | 0x20) <= 'z';
    if (leftward && *first == NULL)
      *first = text + at;
    at += bytes > 0 ? bytes : 1;
    if (leftward)
      *end = text + at;
    else if (*first != NULL && (letter || point >= 0x80))
      return true;
  }
  return *first != NULL;
}

void plag_html_prose_add(plag_text *out, const char *text) {
  const char *first = NULL, *end = NULL;
  while (find_leftward(text, &first, &end)) {
    add_range(out, text, first);
    plag_text_add(out, "<bdi>");
    add_range(out, first, end);
    plag_text_add(out, "</bdi>");
    text = end;
  }
  plag_html_text_add(out, text);
}

void plag_html_name_add(plag_text *out, const char *text) {
  plag_text clean = {0};
  plag_escape_add(&clean, text);
  plag_html_prose_add(out, clean.bytes != NULL ? clean.bytes : "");
  out->failed = out->failed || clean.failed;
  plag_text_clear(&clean);
}
