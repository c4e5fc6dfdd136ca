/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/words.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
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

const char *plag_words_estimate(plag_arena *arena, const platelag_estimate *estimate, int decimals,
                                const char *unit) {
  static const char *const value[] = {"#0 #s", "#1 #s", "#2 #s"};
  static const char *const most[] = {"at most #0 #s", "at most #1 #s", "at most #2 #s"};
  static const char *const least[] = {"at least #0 #s", "at least #1 #s", "at least #2 #s"};
  static const char *const range[] = {"#0 to #0 #s", "#1 to #1 #s", "#2 to #2 #s"};
  assert(decimals >= 0 && decimals <= 2);
  switch (estimate->known) {
  case PLATELAG_KNOWN_VALUE:
    return plag_words(arena, value[decimals], estimate->value, unit);
  case PLATELAG_KNOWN_UPPER_LIMIT:
    return plag_words(arena, most[decimals], estimate->high, unit);
  case PLATELAG_KNOWN_LOWER_LIMIT:
    return plag_words(arena, least[decimals], estimate->low, unit);
  case PLATELAG_KNOWN_BRACKET:
    return isfinite(estimate->high)
               ? plag_words(arena, range[decimals], estimate->low, estimate->high, unit)
               : plag_words(arena, least[decimals], estimate->low, unit);
  case PLATELAG_KNOWN_NOTHING:
    break;
  }
  return "not measured";
}
