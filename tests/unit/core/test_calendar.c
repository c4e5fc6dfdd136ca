/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Days since 1970 and dates turn into each other, over leap years and centuries, and seconds are
 * written as dates. */
#include "support/check.h"

#include <stdbool.h>

#include "core/calendar.h"

/* Days of the table: GNU date, "date -u -d DATE +%s" divided by 86400. */
static const struct {
  plag_date date;
  int64_t day;
} days[] = {
    {{1970, 1, 1}, 0},      {{1969, 12, 31}, -1},     {{1999, 12, 31}, 10956},
    {{2000, 2, 29}, 11016}, {{2000, 3, 1}, 11017},    {{2024, 2, 29}, 19782},
    {{2026, 3, 14}, 20526}, {{2100, 2, 28}, 47540},   {{2100, 3, 1}, 47541},
    {{1900, 3, 1}, -25508}, {{1600, 2, 29}, -135081}, {{9999, 12, 31}, 2932896},
};

static void known_days_have_their_dates(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof days / sizeof days[0]; i++) {
    const plag_date date = plag_calendar_date(days[i].day);
    if (plag_calendar_day(days[i].date) != days[i].day || date.year != days[i].date.year ||
        date.month != days[i].date.month || date.day != days[i].date.day)
      fail_msg("%lld-%d-%d", (long long)days[i].date.year, days[i].date.month, days[i].date.day);
  }
}

static void every_day_of_nine_centuries_comes_back(void **state) {
  (void)state;
  plag_date before = plag_calendar_date(-135082);
  for (int64_t day = -135081; day < 193719; day++) {
    const plag_date date = plag_calendar_date(day);
    const bool next = date.day == before.day + 1 && date.month == before.month;
    const bool first = date.day == 1 && before.day >= 28 && date.month == before.month % 12 + 1;
    if (plag_calendar_day(date) != day || !(next || first))
      fail_msg("day %lld: %lld-%d-%d", (long long)day, (long long)date.year, date.month, date.day);
    before = date;
  }
}

static void seconds_are_written_as_dates(void **state) {
  (void)state;
  static const struct {
    int64_t unix_s;
    char between;
    const char *text;
  } table[] = {{1773474072, 'T', "2026-03-14T07:41:12"},
               {951868799, ' ', "2000-02-29 23:59:59"},
               {-1, ' ', "1969-12-31 23:59:59"},
               {788918400, 'T', "1995-01-01T00:00:00"}};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    char text[PLAG_CALENDAR_BYTES];
    plag_calendar_format(table[i].unix_s, table[i].between, text);
    assert_string_equal(text, table[i].text);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(known_days_have_their_dates),
                                     cmocka_unit_test(every_day_of_nine_centuries_comes_back),
                                     cmocka_unit_test(seconds_are_written_as_dates)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
