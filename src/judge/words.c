/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/words.h"

#include <assert.h>
#include <math.h>

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
