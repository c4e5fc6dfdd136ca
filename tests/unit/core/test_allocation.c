/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whichever allocation fails, core says so and loses nothing. */
#include "support/check.h"
#include "support/failing_memory.h"

#include <stdlib.h>
#include <string.h>

#include "core/arena.h"
#include "core/array.h"
#include "core/text.h"

enum { MOST_ALLOCATIONS = 100 };

static void a_text_says_that_memory_ran_out(void **state) {
  (void)state;
  size_t nth = 1;
  for (bool reached = true; reached && nth < MOST_ALLOCATIONS; nth++) {
    plag_text text = {0};
    plag_test_fail_allocation(nth);
    for (int i = 0; i < 40; i++)
      plag_text_add(&text, "rest stop, ");
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(text.failed, reached);
    assert_true(reached || text.length == 40 * strlen("rest stop, "));
    plag_text_clear(&text);
  }
  assert_true(nth > 3 && nth < MOST_ALLOCATIONS);
}

static void an_arena_stays_usable(void **state) {
  (void)state;
  size_t nth = 1;
  for (bool reached = true; reached && nth < MOST_ALLOCATIONS; nth++) {
    plag_arena arena = {0};
    size_t refused = 0;
    plag_test_fail_allocation(nth);
    for (size_t i = 0; i < 30; i++)
      refused += plag_arena_take(&arena, 700 * i) == NULL;
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(refused, reached ? 1 : 0);
    assert_non_null(plag_arena_take(&arena, 65));
    plag_arena_clear(&arena);
  }
  assert_true(nth > 3 && nth < MOST_ALLOCATIONS);
}

static void an_array_keeps_its_content(void **state) {
  (void)state;
  int *array = NULL;
  size_t capacity = 0;
  assert_true(plag_array_reserve((void **)&array, &capacity, 3, sizeof *array));
  array[2] = 2385;
  const size_t before = capacity;
  plag_test_fail_allocation(1);
  assert_false(plag_array_reserve((void **)&array, &capacity, before + 1, sizeof *array));
  plag_test_fail_allocation(0);
  assert_int_equal(capacity, before);
  assert_int_equal(array[2], 2385);
  free(array);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_text_says_that_memory_ran_out),
      cmocka_unit_test(an_arena_stays_usable),
      cmocka_unit_test(an_array_keeps_its_content),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
