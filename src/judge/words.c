/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/words.h"

#include <stdarg.h>

#include "core/text.h"

static void add_next(plag_text *text, char kind, va_list *arguments) {
  if (kind != 's') {
    plag_text_add_number(text, va_arg(*arguments, double), kind - '0');
    return;
  }
  const char *string = va_arg(*arguments, const char *);
  if (string == NULL) /* a part that had no memory */
    text->failed = true;
  else
    plag_text_add(text, string);
}

const char *plag_words(plag_arena *arena, const char *pattern, ...) {
  plag_text text = {0};
  va_list arguments;
  va_start(arguments, pattern);
  for (const char *c = pattern; *c != '\0'; c++) {
    const bool figure = c[0] == '#' && (c[1] == 's' || (c[1] >= '0' && c[1] <= '9'));
    if (figure)
      add_next(&text, *++c, &arguments);
    else
      plag_text_add_char(&text, *c);
  }
  va_end(arguments);
  const char *words =
      text.failed ? NULL
                  : plag_arena_copy_bytes(arena, text.bytes == NULL ? "" : text.bytes, text.length);
  plag_text_clear(&text);
  return words;
}
