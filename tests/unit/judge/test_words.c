/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences with figures: each kind of figure comes out as it is read, and a part that had no
 * memory leaves no sentence. */
#include "support/check.h"

#include <math.h>

#include "judge/words.h"

static const struct {
  const char *pattern;
  double number;
  const char *string;
  const char *expected;
} rows[] = {
    {"#c", 1, "dropout", "1 dropout"},
    {"#c", 0, "dropout", "0 dropouts"},
    {"held #c.", 29, "time", "held 29 times."},
    {"#1 #s", 2.385, "V", "2.4 V"},
    {"#2 #s", NAN, "V", "- V"},
    {"# #x #0#s", -3.4, "%", "# #x -3%"},
};

static void figures_are_put_in_their_places(void **state) {
  (void)state;
  plag_arena arena = {0};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    assert_string_equal(plag_words(&arena, rows[i].pattern, rows[i].number, rows[i].string),
                        rows[i].expected);
  assert_null(plag_words(&arena, "stick band #s", (const char *)NULL));
  assert_null(plag_words(&arena, "#c", 2.0, (const char *)NULL));
  plag_arena_clear(&arena);
}

static void estimates_say_what_is_known(void **state) {
  (void)state;
  static const struct {
    platelag_estimate estimate;
    const char *expected;
  } known[] = {
      {{PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN}, "not measured"},
      {{PLATELAG_KNOWN_VALUE, 2.385, 1.713, 3.057}, "2.4 %"},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 3.171}, "at most 3.2 %"},
      {{PLATELAG_KNOWN_LOWER_LIMIT, NAN, 12.13, NAN}, "at least 12.1 %"},
      {{PLATELAG_KNOWN_BRACKET, NAN, 3.17, 9.83}, "3.2 to 9.8 %"},
      {{PLATELAG_KNOWN_BRACKET, NAN, 3.17, INFINITY}, "at least 3.2 %"},
  };
  plag_arena arena = {0};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    assert_string_equal(plag_words_estimate(&arena, &known[i].estimate, 1, "%"), known[i].expected);
  plag_arena_clear(&arena);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(figures_are_put_in_their_places),
                                     cmocka_unit_test(estimates_say_what_is_known)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
