/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/calendar.h"

#include <inttypes.h>
#include <stdio.h>

/* A cycle of the Gregorian calendar: 400 years. Years are counted from March, so that the leap day
 * ends them. */
#define CYCLE_DAYS INT64_C(146097)
/* From 0000-03-01 to 1970-01-01. */
#define EPOCH_DAYS INT64_C(719468)

static int64_t floor_divide(int64_t value, int64_t by) {
  return value / by - (value % by < 0);
}

int64_t plag_calendar_day(plag_date date) {
  const int64_t year = date.year - (date.month <= 2);
  const int64_t cycle = floor_divide(year, 400);
  const int64_t of_cycle = year - cycle * 400;
  const int64_t of_year = (153 * (date.month + (date.month > 2 ? -3 : 9)) + 2) / 5 + date.day - 1;
  return cycle * CYCLE_DAYS + of_cycle * 365 + of_cycle / 4 - of_cycle / 100 + of_year - EPOCH_DAYS;
}

plag_date plag_calendar_date(int64_t day) {
  day += EPOCH_DAYS;
  const int64_t cycle = floor_divide(day, CYCLE_DAYS);
  const int64_t of_cycle = day - cycle * CYCLE_DAYS;
  /* Leap days before the day are taken off: one in 4 years, none in 100, one in 400. */
  const int64_t year = (of_cycle - of_cycle / 1460 + of_cycle / 36524 - of_cycle / 146096) / 365;
  const int64_t of_year = of_cycle - (365 * year + year / 4 - year / 100);
  const int64_t from_march = (5 * of_year + 2) / 153;
  const int month = (int)(from_march < 10 ? from_march + 3 : from_march - 9);
  return (plag_date){.year = year + cycle * 400 + (month <= 2),
                     .month = month,
                     .day = (int)(of_year - (153 * from_march + 2) / 5 + 1)};
}

void plag_calendar_format(int64_t unix_s, char between, char text[PLAG_CALENDAR_BYTES]) {
  const int64_t day = floor_divide(unix_s, PLAG_DAY_SECONDS);
  const int of_day = (int)(unix_s - day * PLAG_DAY_SECONDS);
  const plag_date date = plag_calendar_date(day);
  (void)snprintf(text, PLAG_CALENDAR_BYTES, "%04" PRId64 "-%02d-%02d%c%02d:%02d:%02d", date.year,
                 date.month, date.day, between, of_day / 3600, of_day / 60 % 60, of_day % 60);
}
