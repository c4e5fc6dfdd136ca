/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/words.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "core/text.h"

static void add_next(plag_text *text, char kind, va_list *arguments) {
  double number = NAN;
  if (kind != 's')
    plag_text_add_number(text, number = va_arg(*arguments, double), kind == 'c' ? 0 : kind - '0');
  if (kind != 's' && kind != 'c')
    return;
  const char *string = va_arg(*arguments, const char *);
  if (string == NULL) { /* a part that had no memory */
    text->failed = true;
    return;
  }
  plag_text_add(text, kind == 'c' ? " " : "");
  plag_text_add(text, string);
  plag_text_add(text, kind == 'c' && number != 1 ? "s" : "");
}

const char *plag_words(plag_arena *arena, const char *pattern, ...) {
  plag_text text = {0};
  va_list arguments;
  va_start(arguments, pattern);
  for (const char *c = pattern; *c != '\0'; c++) {
    const bool figure = c[0] == '#' && c[1] != '\0' && strchr("sc0123456789", c[1]) != NULL;
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

const char *plag_probability_words(double probability, char room[PLAG_PROBABILITY_BYTES]) {
  if (probability > 0.99)
    (void)snprintf(room, PLAG_PROBABILITY_BYTES, "over 99 %%");
  else
    (void)snprintf(room, PLAG_PROBABILITY_BYTES, "%.0f %%", 100 * probability);
  return room;
}
