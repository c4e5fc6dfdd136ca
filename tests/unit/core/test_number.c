/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers are read to the nearest double, whatever the locale, and written without it. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/number.h"
#include "support/decimal_comma.h"

typedef struct reading_case {
  const char *text;
  char decimal;
  size_t used;
  double value;
} reading_case;

static void reads_what_is_a_number_and_no_more(void **state) {
  (void)state;
  static const reading_case cases[] = {
      {"2.385", '.', 5, 2.385},
      {"-0,457", ',', 6, -0.457},
      {"+17", '.', 3, 17},
      {"3.25 V", '.', 4, 3.25},
      {"9a", '.', 1, 9},
      {"1e3x", '.', 3, 1000},
      {"12e", '.', 2, 12},
      {"12e+", '.', 2, 12},
      {".5", '.', 2, 0.5},
      {"5.", '.', 2, 5},
      {".", '.', 0, 0},
      {"-", '.', 0, 0},
      {"", '.', 0, 0},
      {"nan", '.', 0, 0},
      {"inf", '.', 0, 0},
      {"0x1p3", '.', 1, 0},
      {"1,5", '.', 1, 1},
      {"1e400", '.', 5, INFINITY},
      {"-1e400", '.', 6, -INFINITY},
      {"1e-400", '.', 6, 0},
      {"4.9e-324", '.', 8, 4.9e-324},
      {"9007199254740993", '.', 16, 9007199254740992.0},
      {"123456789012345678901234567890", '.', 30, 123456789012345678901234567890.0},
      {"0.1000000000000000055511151231257827021181583404541015625", '.', 57, 0.1},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value = 0;
    const size_t used =
        plag_number_read(cases[i].text, strlen(cases[i].text), cases[i].decimal, &value);
    if (used != cases[i].used)
      fail_msg("\"%s\": used %zu, expected %zu", cases[i].text, used, cases[i].used);
    if (used > 0)
      assert_close(value, cases[i].value, 0, 0);
  }
}

static uint64_t next_random(uint64_t *seed) {
  *seed ^= *seed << 13;
  *seed ^= *seed >> 7;
  *seed ^= *seed << 17;
  return *seed;
}

static void agrees_with_strtod_to_the_last_bit(void **state) {
  (void)state;
  uint64_t seed = UINT64_C(0x9e3779b97f4a7c15);
  static const char *const formats[] = {"%.17g", "%.15g", "%.6f", "%.3f", "%.20e", "%.0f"};
  for (int i = 0; i < 200000; i++) {
    const int exponent = (int)(next_random(&seed) % 80) - 40;
    const double drawn = ldexp((double)(int64_t)next_random(&seed), exponent - 40);
    char text[PLAG_NUMBER_TEXT_BYTES];
    (void)snprintf(text, sizeof text, formats[i % 6], drawn);
    double value = 0;
    assert_int_equal(plag_number_read(text, strlen(text), '.', &value), strlen(text));
    const double expected = strtod(text, NULL);
    if (memcmp(&value, &expected, sizeof value) != 0)
      fail_msg("%s: read %.17g, expected %.17g", text, value, expected);
  }
}

/* Texts as recorders write them: up to fifteen digits, a mark anywhere among them. */
static void reads_short_texts_to_the_last_bit(void **state) {
  (void)state;
  uint64_t seed = UINT64_C(0x2545f4914f6cdd1d);
  for (int i = 0; i < 300000; i++) {
    char text[24] = "";
    size_t length = 0;
    if (next_random(&seed) % 3 == 0)
      text[length++] = '-';
    const size_t digits = 1 + next_random(&seed) % 15;
    const size_t mark = 1 + next_random(&seed) % 16;
    for (size_t k = 0; k < digits; k++) {
      if (k == mark)
        text[length++] = '.';
      text[length++] = (char)('0' + next_random(&seed) % 10);
    }
    if (mark == digits)
      text[length++] = '.';
    const double expected = strtod(text, NULL);
    const char decimal = i % 2 ? '.' : ',';
    for (size_t k = 0; k < length; k++)
      text[k] = text[k] == '.' ? decimal : text[k];
    double value = 0;
    double brief = 0;
    assert_int_equal(plag_number_read(text, length, decimal, &value), length);
    if (memcmp(&value, &expected, sizeof value) != 0)
      fail_msg("%s: read %.17g, expected %.17g", text, value, expected);
    if (plag_number_read_short(text, length, decimal, &brief))
      assert_memory_equal(&brief, &value, sizeof value);
    else
      assert_true(length > 15);
  }
}

/* What stands behind the length given is none of it, digits least of all; and the text need not end
 * there: the copy is as long as the length, so that a look beyond it is an error of memory. */
static void reads_no_further_than_told(void **state) {
  (void)state;
  static const struct {
    const char *text;
    size_t length;
    double value;
  } rows[] = {{"4.617", 4, 4.61}, {"4617", 3, 461}, {"-0.385", 5, -0.38}, {"38e5", 2, 38},
              {"12.5", 3, 12},    {"7", 1, 7},      {"385.", 3, 385}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double value = NAN;
    assert_true(plag_number_read_short(rows[i].text, rows[i].length, '.', &value));
    assert_close(value, rows[i].value, 0, 0);
    assert_int_equal(plag_number_read(rows[i].text, rows[i].length, '.', &value), rows[i].length);
    assert_close(value, rows[i].value, 0, 0);
    char *copy = malloc(rows[i].length);
    assert_non_null(copy);
    memcpy(copy, rows[i].text, rows[i].length);
    assert_true(plag_number_read_short(copy, rows[i].length, '.', &value));
    free(copy);
  }
}

/* The characters next to the digits are none: a time and a fraction are no numbers. */
static void reads_no_neighbour_of_a_digit(void **state) {
  (void)state;
  static const struct {
    const char *text;
    size_t used;
    double value;
  } rows[] = {{"12:30", 2, 12}, {"3/4", 1, 3}, {"4.6:1", 3, 4.6}, {"4.6/1", 3, 4.6}, {"7:", 1, 7}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double value = NAN;
    const size_t length = strlen(rows[i].text);
    assert_false(plag_number_read_short(rows[i].text, length, '.', &value));
    assert_int_equal(plag_number_read(rows[i].text, length, '.', &value), rows[i].used);
    assert_close(value, rows[i].value, 0, 0);
  }
}

static void writes_without_the_locale(void **state) {
  (void)state;
  static const struct {
    double value;
    int decimals;
    const char *text;
  } cases[] = {{2.385, 2, "2.38"}, {-0.001, 2, "0.00"},  {1234.5, 1, "1234.5"},
               {NAN, 2, "-"},      {INFINITY, 0, "inf"}, {7, 0, "7"}};
  plag_test_decimal_comma_begin(); /* it must not come through */
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[PLAG_NUMBER_TEXT_BYTES];
    assert_string_equal(plag_number_format(cases[i].value, cases[i].decimals, text), cases[i].text);
  }
  double value = 0;
  assert_int_equal(plag_number_read("0.1000000000000000055511151231257827021181583404541015625", 57,
                                    '.', &value),
                   57);
  assert_close(value, 0.1, 0, 0);
  plag_test_decimal_comma_end();
}

/* Every size and number of places, ties and what lies a bit beside them. */
static void writes_what_printf_does(void **state) {
  (void)state;
  uint64_t seed = UINT64_C(0xd1b54a32d192ed03);
  for (int i = 0; i < 300000; i++) {
    const int decimals = (int)(next_random(&seed) % 18);
    double value = ldexp((double)(int64_t)next_random(&seed), -(int)(next_random(&seed) % 90));
    if (i % 3 == 0) { /* near a tie of these places */
      const double halves = (double)(next_random(&seed) % 20000) + 0.5;
      value = halves / pow(10, decimals);
      value = i % 2 == 0 ? value : nextafter(value, i % 4 == 1 ? INFINITY : -INFINITY);
    }
    char text[PLAG_NUMBER_TEXT_BYTES];
    char expected[PLAG_NUMBER_TEXT_BYTES];
    (void)snprintf(expected, sizeof expected, "%.*f", decimals, value);
    const bool zero = strpbrk(expected, "123456789") == NULL;
    assert_string_equal(plag_number_format(value, decimals, text),
                        expected + (zero && expected[0] == '-'));
  }
}

static void writes_json_numbers(void **state) {
  (void)state;
  static const struct {
    double value;
    const char *text;
  } cases[] = {{0.25, "0.25"}, {NAN, "null"},   {-INFINITY, "null"},
               {-0.0, "0"},    {1e-9, "1e-09"}, {123456.7, "123457"}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[PLAG_NUMBER_TEXT_BYTES];
    assert_string_equal(plag_number_format_json(cases[i].value, 6, text), cases[i].text);
  }
}

static void reads_a_whole_string(void **state) {
  (void)state;
  double value = 0;
  assert_true(plag_number_read_all(" 4.61 ", &value));
  assert_close(value, 4.61, 0, 0);
  assert_false(plag_number_read_all("4.61V", &value));
  assert_false(plag_number_read_all("", &value));
}

static void whole_numbers_end_where_browsers_count_no_further(void **state) {
  (void)state;
  static const struct {
    double value;
    long long whole;
  } cases[] = {{2384.5, 2385},
               {-2384.4999, -2384},
               {9007199254740991.0, 9007199254740991},
               {9.1e15, 9007199254740992},
               {-1.7e308, -9007199254740992}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    assert_true(plag_number_whole(cases[i].value) == cases[i].whole);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whole_numbers_end_where_browsers_count_no_further),
      cmocka_unit_test(reads_what_is_a_number_and_no_more),
      cmocka_unit_test(agrees_with_strtod_to_the_last_bit),
      cmocka_unit_test(reads_short_texts_to_the_last_bit),
      cmocka_unit_test(reads_no_further_than_told),
      cmocka_unit_test(reads_no_neighbour_of_a_digit),
      cmocka_unit_test(writes_without_the_locale),
      cmocka_unit_test(writes_what_printf_does),
      cmocka_unit_test(writes_json_numbers),
      cmocka_unit_test(reads_a_whole_string),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
