/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ticks are round, few enough, inside their axis, and read as a person would write them. */
#include "support/check.h"

#include "report/ticks.h"

static const struct {
  double from, to;
  size_t most;
  bool is_time;
  const char *expected;
} rows[] = {
    {0, 100, 5, false, "0 20 40 60 80 100"},
    {-4.2, 106.1, 5, false, "0 50 100"},
    {-56.3, 162.7, 5, false, "-50 0 50 100 150"},
    {0, 5, 6, false, "0 1 2 3 4 5"},
    {1.18, 1.31, 5, false, "1.20 1.25 1.30"},
    {0, 0.0023, 5, false, "0.0000 0.0005 0.0010 0.0015 0.0020"},
    {-0.3, 3.5, 6, false, "0 1 2 3"},
    {0, 209.9, 10, true, "0:00 0:30 1:00 1:30 2:00 2:30 3:00"},
    {0, 600, 6, true, "0:00 2:00 4:00 6:00 8:00 10:00"},
    {3590, 3620, 6, true, "59:50 59:55 1:00:00 1:00:05 1:00:10 1:00:15 1:00:20"},
    {61.2, 62.3, 6, true, "1:01.2 1:01.4 1:01.6 1:01.8 1:02.0 1:02.2"},
    {7, 7, 5, false, ""},
};

static void ticks_read_as_written(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const plag_axis axis = {.from = rows[i].from, .to = rows[i].to, .is_time = rows[i].is_time};
    const plag_ticks ticks = plag_ticks_of(&axis, rows[i].most);
    plag_text out = {0};
    plag_text_add(&out, "");
    for (size_t k = 0; k < ticks.count; k++) {
      plag_text_add(&out, k > 0 ? " " : "");
      plag_tick_add(&out, &ticks, k);
      assert_between(plag_tick_at(&ticks, k), axis.from - 1e-9, axis.to + 1e-9);
    }
    assert_string_equal(out.bytes, rows[i].expected);
    assert_true(ticks.count <= rows[i].most + 1);
    plag_text_clear(&out);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(ticks_read_as_written)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
