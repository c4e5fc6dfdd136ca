/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences take figures, texts and counts where their marks stand, and fail whole without memory.
 */
#include "support/check.h"
#include "support/failing_memory.h"

#include <math.h>

#include "core/words.h"

static void marks_become_what_is_given(void **state) {
  (void)state;
  plag_arena arena = {0};
  assert_string_equal(plag_words(&arena, "plain"), "plain");
  assert_string_equal(plag_words(&arena, ""), "");
  assert_string_equal(plag_words(&arena, "#1 % and #0, #4", 7.349, 12.5001, -0.00001),
                      "7.3 % and 13, 0.0000");
  assert_string_equal(plag_words(&arena, "#2 #1", NAN, INFINITY), "- inf");
  assert_string_equal(plag_words(&arena, "#s of #s", "bank 1", "bus #0 #s"), "bank 1 of bus #0 #s");
  assert_string_equal(plag_words(&arena, "#c, #c, #c", 1.0, "log", 3.0, "log", 0.0, "valve"),
                      "1 log, 3 logs, 0 valves");
  assert_string_equal(plag_words(&arena, "# #x ## #"), "# #x ## #");
  assert_string_equal(plag_words(&arena, "##s", "1"), "#1");
  plag_arena_clear(&arena);
}

static void a_part_without_memory_is_none(void **state) {
  (void)state;
  plag_arena arena = {0};
  assert_null(plag_words(&arena, "#s of #s", "bank 1", (const char *)NULL));
  assert_null(plag_words(&arena, "#c", 2.0, (const char *)NULL));
  size_t nth = 0;
  const char *words = NULL;
  while (words == NULL) {
    plag_test_fail_allocation(++nth);
    words = plag_words(&arena, "a sentence of more than sixteen bytes, #1 of #s", 2.34, "it");
    assert_int_equal(words == NULL, plag_test_allocation_failed());
    plag_test_fail_allocation(0);
  }
  assert_string_equal(words, "a sentence of more than sixteen bytes, 2.3 of it");
  assert_true(nth > 2);
  plag_arena_clear(&arena);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(marks_become_what_is_given),
                                     cmocka_unit_test(a_part_without_memory_is_none)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
