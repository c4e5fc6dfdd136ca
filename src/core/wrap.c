/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/wrap.h"

#include <string.h>

#include "core/escape.h"

/* A number keeps its unit: no line ends between them while there is another blank. */
static bool follows_digit(const char *text, size_t at) {
  return at > 0 && text[at - 1] >= '0' && text[at - 1] <= '9';
}

bool plag_wrap_next(const char **rest, size_t width, const char **line, size_t *length) {
  const char *text = *rest;
  while (*text == ' ')
    text++;
  if (*text == '\0')
    return false;
  size_t at = 0, columns = 0, blank = 0;
  bool parts = false; /* the blank parts a number from its unit */
  while (text[at] != '\0' && columns < width) {
    if (text[at] == ' ' && (blank == 0 || parts || !follows_digit(text, at))) {
      parts = follows_digit(text, at);
      blank = at;
    }
    do
      at++;
    while (((unsigned char)text[at] & 0xc0) == 0x80);
    columns++;
  }
  const bool whole =
      text[at] == '\0' || blank == 0 || (text[at] == ' ' && (parts || !follows_digit(text, at)));
  const size_t end = whole ? at : blank;
  *line = text;
  *length = end;
  while (*length > 0 && text[*length - 1] == ' ')
    --*length;
  *rest = text + end;
  return true;
}

void plag_wrap_add_blanks(plag_text *out, size_t count) {
  for (size_t i = 0; i < count; i++)
    plag_text_add_char(out, ' ');
}

void plag_wrap_add(plag_text *out, const char *text, size_t width, size_t column, size_t hang) {
  const char *line = NULL;
  size_t length = 0;
  bool first = true;
  size_t room = width > column + 10 ? width - column : 10;
  while (plag_wrap_next(&text, room, &line, &length)) {
    if (!first)
      plag_wrap_add_blanks(out, hang);
    plag_text_add_bytes(out, line, length);
    plag_text_add_char(out, '\n');
    first = false;
    room = width > hang + 10 ? width - hang : 10;
  }
  if (first)
    plag_text_add_char(out, '\n');
}
