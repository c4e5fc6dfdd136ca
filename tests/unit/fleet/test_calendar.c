/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Dates are read as people write them beside captures, never with day and month in another order,
 * and what is no date is none. Seconds: `date -u -d ... +%s` of GNU coreutils 9.1. */
#include "support/check.h"

#include <string.h>

#include "fleet/calendar.h"

static const struct date {
  const char *text;
  int64_t unix_s;
} DATES[] = {
    {"2026-03-14", 1773446400},          {"20260314", 1773446400},
    {"2026_03_14", 1773446400},          {"2026.03.14", 1773446400},
    {"2026-03-14T07:41:12", 1773474072}, {"2026-03-14 07:41:12Z", 1773474072},
    {"2026-03-14 07:41", 1773474060},    {"2026-03-14_0741", 1773474060},
    {"20260314-074112", 1773474072},     {"20260314T074112Z", 1773474072},
    {"2026-03-14-07-41-12", 1773474072}, {"2026-03-14T07.41.12", 1773474072},
    {"2026-03-14T07:41Z", 1773474060},   {"2024-02-29", 1709164800},
    {"2000-02-29T23:59:59", 951868799},  {"1970-01-01", 0},
    {"1969-12-31 23:59:58", -2},         {"0001-01-01", -62135596800},
};

static void dates_are_read(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof DATES / sizeof *DATES; i++) {
    int64_t unix_s = INT64_MIN;
    if (!plag_date_read(DATES[i].text, strlen(DATES[i].text), &unix_s) || unix_s != DATES[i].unix_s)
      fail_msg("%s: %lld", DATES[i].text, (long long)unix_s);
  }
}

static const char *const NO_DATES[] = {
    "",
    "2026",
    "2026-03",
    "2026-3-14",
    "14-03-2026",
    "14.03.2026",
    "03/14/2026",
    "2026-13-01",
    "2026-00-10",
    "2026-02-29",
    "2100-02-29",
    "2026-04-31",
    "2026-03-00",
    "2026-03.14",
    "2026-0314",
    "202603-14",
    "0000-01-01",
    "2026-03-14T",
    "2026-03-14 24:00",
    "2026-03-14 07:60",
    "2026-03-14 07:41:60",
    "2026-03-14 07:41-12",
    "2026-03-14 7:41",
    "2026-03-14x",
    "x2026-03-14",
    " 2026-03-14",
    "2026-03-14 ",
    "2026-03-14 07:41:12.5",
    "2026-03-14 07:41+01:00",
    "2026-03-14ZZ",
    "20260314074112",
    "-026-03-14",
};

static void what_is_no_date_is_none(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof NO_DATES / sizeof *NO_DATES; i++) {
    int64_t unix_s = 0;
    if (plag_date_read(NO_DATES[i], strlen(NO_DATES[i]), &unix_s))
      fail_msg("\"%s\" is taken for %lld", NO_DATES[i], (long long)unix_s);
  }
}

static void no_byte_behind_the_length_is_read(void **state) {
  (void)state;
  int64_t unix_s = 0;
  const char *text = "2026-03-14T07:41:12";
  const size_t dates[] = {10, 16, 19};
  for (size_t length = 0, at = 0; length <= 19; length++) {
    const bool is = length == dates[at];
    assert_int_equal(plag_date_read(text, length, &unix_s), is);
    at += is;
  }
}

static void dates_are_written(void **state) {
  (void)state;
  char text[PLAG_DATE_BYTES];
  assert_string_equal(plag_date_format(1773474072, text), "2026-03-14");
  assert_string_equal(plag_stamp_format(1773474072, text), "2026-03-14T07:41:12");
  assert_string_equal(plag_date_format(-1, text), "1969-12-31");
  assert_string_equal(plag_stamp_format(951868799, text), "2000-02-29T23:59:59");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(dates_are_read),
      cmocka_unit_test(what_is_no_date_is_none),
      cmocka_unit_test(no_byte_behind_the_length_is_read),
      cmocka_unit_test(dates_are_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
