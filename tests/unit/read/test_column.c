/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A column reads short numbers on a quick way of their own: values, counts, range and numbers that
 * stand for "no value" are those of the way that reads any cell. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "read/column.h"

typedef struct story {
  const char *what;
  const char *unit;
  plag_notation notation;
  const char *cell[12];
} story;

static const story stories[] = {
    {"volts", "V", {'.', ','}, {"1.27", "-0.5", "", "2.385", "1,234.5", "n/a", "x", "3", "0.001"}},
    {"about the least sentinel", "", {'.', ','}, {"9998.99", "9999", "-9999", "9999", "-9998.99"}},
    {"millivolts", "mV", {'.', ','}, {"9999", "1270", "9999000", "65535000", "-300"}},
    {"decimal commas", "%", {',', '.'}, {"12,5", "1.234,5", "99,99", "65535", "12.5", "7"}},
    {"large ones", "Pa", {'.', ','}, {"101325", "99999", "65535", "101325", "1e5", "98700"}},
    {"sixteen digits", "", {'.', 0}, {"123456789012345", "1234567890123456", "-0", "0.10000000"}},
    {"states among numbers", "%", {'.', ','}, {"12.5", "on", "off", "3.5 %", "3.5 V", "+7"}},
};

static void assert_same_columns(const plag_column *one, const plag_column *other) {
  assert_int_equal(one->numbers, other->numbers);
  assert_int_equal(one->states, other->states);
  assert_int_equal(one->words, other->words);
  assert_int_equal(one->missing, other->missing);
  assert_close(one->lowest, other->lowest, 0.0, 0.0);
  assert_close(one->highest, other->highest, 0.0, 0.0);
  assert_int_equal(one->bad_line, other->bad_line);
  assert_int_equal(one->sentinel_count, other->sentinel_count);
  assert_int_equal(one->sentinel_line, other->sentinel_line);
  assert_close(one->sentinel, other->sentinel, 0.0, 0.0);
}

static void both_ways_read_the_same(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof stories / sizeof stories[0]; k++) {
    const story *s = &stories[k];
    const plag_column_head head = {"made", "made", s->unit};
    plag_column quick;
    plag_column any;
    plag_column_begin(&quick, &head, 0, s->notation, NULL, NULL);
    plag_column_begin(&any, &head, 0, s->notation, NULL, NULL);
    print_message("%s\n", s->what);
    for (int i = 0; i < 12 && s->cell[i] != NULL; i++) {
      const plag_cell cell = {s->cell[i], strlen(s->cell[i])};
      assert_close(plag_column_take(&quick, cell, i + 2), plag_column_take_any(&any, cell, i + 2),
                   0.0, 0.0);
      assert_same_columns(&quick, &any);
    }
  }
}

/* In the column's own unit: 9999 mV are a voltage. */
static void a_number_stands_for_no_value_in_the_unit_it_is_kept_in(void **state) {
  (void)state;
  static const struct {
    const char *unit, *cell;
    double value;
    size_t sentinels;
  } table[] = {
      {"V", "9999", 9999, 1},
      {"mV", "9999", 9.999, 0},
      {"mV", "9999000", 9999, 1},
      {"V", "9998.99", 9998.99, 0},
      {"V", "-9999", -9999, 1},
      {"V", "10000", 10000, 0},
      {"V", "4294967295", 4294967295, 1},
  };
  for (size_t k = 0; k < sizeof table / sizeof table[0]; k++) {
    const plag_column_head head = {"made", "made", table[k].unit};
    plag_column column;
    plag_column_begin(&column, &head, 0, (plag_notation){'.', ','}, NULL, NULL);
    const plag_cell cell = {table[k].cell, strlen(table[k].cell)};
    assert_close(plag_column_take(&column, cell, 2), table[k].value, 1e-15, 0.0);
    assert_int_equal(column.numbers, 1);
    assert_int_equal(column.sentinel_count, table[k].sentinels);
    assert_true(isnan(column.lowest) == (table[k].sentinels > 0));
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(both_ways_read_the_same),
      cmocka_unit_test(a_number_stands_for_no_value_in_the_unit_it_is_kept_in),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
