/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A text holds what was added, however much of its memory is taken; whole numbers come out as
 * printf writes them. */
#include "support/check.h"

#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "core/text.h"
#include "support/failing_memory.h"

static void whole_numbers_are_printfs(void **state) {
  (void)state;
  static const int64_t values[] = {
      0,       -1,        7,           -40,       2385,          -90517,
      1000000, -99999999, 31536000000, INT64_MAX, INT64_MIN + 1, INT64_MIN};
  plag_text text = {0};
  for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
    char expected[32];
    (void)snprintf(expected, sizeof expected, "%" PRId64, values[i]);
    plag_text_reset(&text);
    plag_text_add_integer(&text, values[i]);
    assert_string_equal(text.bytes, expected);
    assert_int_equal(text.length, strlen(expected));
  }
  plag_text_clear(&text);
}

/* A text of `before` letters, and the same with a number behind them in `expected`. */
static plag_text begin(int before, char expected[400]) {
  plag_text text = {0};
  for (int i = 0; i < before; i++)
    plag_text_add_char(&text, 'x');
  memset(expected, 'x', (size_t)before);
  (void)snprintf(expected + before, 400 - (size_t)before, "%d of 2385 rows", before);
  return text;
}

static void formats_fit_wherever_the_room_ends(void **state) {
  (void)state;
  for (int before = 0; before < 200; before++) {
    char expected[400];
    plag_text text = begin(before, expected);
    plag_text_add_format(&text, "%d of %s", before, "2385 rows");
    assert_string_equal(text.bytes, expected);
    assert_int_equal(text.length, strlen(expected));
    plag_text_clear(&text);
  }
}

static void without_memory_nothing_is_half_written(void **state) {
  (void)state;
  size_t failed = 0;
  for (int before = 1; before < 200; before++) {
    char expected[400];
    plag_text text = begin(before, expected);
    plag_test_fail_allocation(1);
    plag_text_add_format(&text, "%d of %s", before, "2385 rows");
    plag_test_fail_allocation(0);
    if (text.failed)
      expected[before] = '\0';
    failed += text.failed;
    assert_string_equal(text.bytes, expected);
    assert_int_equal(text.length, strlen(expected));
    plag_text_clear(&text);
  }
  assert_true(failed > 10);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whole_numbers_are_printfs),
      cmocka_unit_test(formats_fit_wherever_the_room_ends),
      cmocka_unit_test(without_memory_nothing_is_half_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
