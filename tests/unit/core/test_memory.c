/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Arena, array and text keep what they are given, at any size, and refuse what cannot be. */
#include "support/check.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/arena.h"
#include "core/array.h"
#include "core/text.h"

static void arena_keeps_what_it_gave(void **state) {
  (void)state;
  plag_arena arena = {0};
  static const size_t sizes[] = {0, 1, 15, 16, 17, 4095, 4096, 4097, 300000, 2500000, 3};
  unsigned char *taken[11];
  for (size_t i = 0; i < 11; i++) {
    taken[i] = plag_arena_take(&arena, sizes[i]);
    assert_non_null(taken[i]);
    assert_int_equal((uintptr_t)taken[i] % _Alignof(max_align_t), 0);
    for (size_t k = 0; k < sizes[i]; k++)
      assert_int_equal(taken[i][k], 0);
    if (sizes[i] > 0)
      memset(taken[i], (int)i + 1, sizes[i]);
  }
  for (size_t i = 0; i < 11; i++)
    for (size_t k = 0; k < sizes[i]; k++)
      if (taken[i][k] != i + 1)
        fail_msg("block %zu was overwritten at %zu", i, k);
  assert_null(plag_arena_take_array(&arena, SIZE_MAX / 4, 16));
  assert_string_equal(plag_arena_copy_bytes(&arena, "runner valve", 6), "runner");
  assert_string_equal(plag_arena_format(&arena, "line %d of %s", 37, "a.csv"), "line 37 of a.csv");
  plag_arena_clear(&arena);
  assert_non_null(plag_arena_take(&arena, 24));
  plag_arena_clear(&arena);
}

static void array_grows_and_refuses_overflow(void **state) {
  (void)state;
  int *array = NULL;
  size_t capacity = 0;
  for (int i = 0; i < 100003; i++) {
    assert_true(plag_array_reserve((void **)&array, &capacity, (size_t)i + 1, sizeof *array));
    array[i] = i * 7;
  }
  for (int i = 0; i < 100003; i++)
    assert_int_equal(array[i], i * 7);
  assert_true(capacity < 160000);
  const size_t before = capacity;
  assert_false(plag_array_reserve((void **)&array, &capacity, SIZE_MAX / 2, sizeof *array));
  assert_int_equal(capacity, before);
  free(array);
}

static void text_adds_up(void **state) {
  (void)state;
  plag_text text = {0};
  plag_text_add(&text, "stick band ");
  plag_text_add_number(&text, 13.249, 1);
  plag_text_add_char(&text, ' ');
  plag_text_add_format(&text, "%s of %d", "%", 20);
  plag_text_add_bytes(&text, "...", 2);
  assert_string_equal(text.bytes, "stick band 13.2 % of 20..");
  assert_int_equal(text.length, strlen(text.bytes));
  plag_text_reset(&text);
  assert_string_equal(text.bytes, "");
  for (int i = 0; i < 50000; i++)
    plag_text_add(&text, "0123456789");
  assert_int_equal(text.length, 500000);
  assert_false(text.failed);
  plag_text_clear(&text);
  assert_null(text.bytes);
}

static void a_failed_text_stays_failed(void **state) {
  (void)state;
  plag_text text = {0};
  plag_text_add(&text, "kept");
  plag_text_add_bytes(&text, "x", SIZE_MAX / 2);
  plag_text_add(&text, "not added");
  assert_true(text.failed);
  assert_string_equal(text.bytes, "kept");
  plag_text_clear(&text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(arena_keeps_what_it_gave),
      cmocka_unit_test(array_grows_and_refuses_overflow),
      cmocka_unit_test(text_adds_up),
      cmocka_unit_test(a_failed_text_stays_failed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
