/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/export.h"

#define MS_A_DAY INT64_C(86400000)
/* The recording starts on 2024-03-14 at 08:17:42.310, in a zone one hour east; no summer time near.
 */
#define START_DAY       INT64_C(19796) /* days after 1970-01-01 */
#define START_MS        INT64_C(29862310)
#define BEFORE_MIDNIGHT INT64_C(86342870) /* 23:59:02.870 */
#define RECORDER_ON_US                                                                             \
  INT64_C(1840000) /* the recorder's own clock runs since it was switched on                       \
                    */

const char *plag_export_clock_unit(plag_export_clock clock) {
  switch (clock) {
  case PLAG_CLOCK_SECONDS:
  case PLAG_CLOCK_EPOCH_S:
    return "s";
  case PLAG_CLOCK_MILLISECONDS:
  case PLAG_CLOCK_EPOCH_MS:
    return "ms";
  case PLAG_CLOCK_MICROSECONDS:
  case PLAG_CLOCK_EPOCH_US:
    return "\u00b5s";
  default:
    return "";
  }
}

/* Days after 1970-01-01 -> date, proleptic Gregorian, for years from 1970 on. */
static void date_of_day(int64_t day, int *year, int *month, int *day_of_month) {
  static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  int y = 1970;
  for (;; y++) {
    const bool leap = (y % 4 == 0 && y % 100 != 0) || y % 400 == 0;
    const int length = leap ? 366 : 365;
    if (day < length) {
      int m = 0;
      while (day >= lengths[m] + (m == 1 && leap)) {
        day -= lengths[m] + (m == 1 && leap);
        m++;
      }
      *year = y;
      *month = m + 1;
      *day_of_month = (int)day + 1;
      return;
    }
    day -= length;
  }
}

static void add_time(int64_t of_day_ms, int hour_digits, bool half_day, char decimal,
                     plag_text *text) {
  const int hour = (int)(of_day_ms / 3600000), minute = (int)(of_day_ms / 60000 % 60);
  const int second = (int)(of_day_ms / 1000 % 60), fraction = (int)(of_day_ms % 1000);
  const int shown = half_day ? (hour + 11) % 12 + 1 : hour;
  plag_text_add_format(text, "%0*d:%02d:%02d%c%03d", hour_digits, shown, minute, second, decimal,
                       fraction);
  if (half_day)
    plag_text_add(text, hour < 12 ? " AM" : " PM");
}

static void add_seconds(int64_t ms, char decimal, plag_text *text) {
  plag_text_add_format(text, "%lld%c%03d", (long long)(ms / 1000), decimal, (int)(ms % 1000));
}

static void add_date(plag_export_clock clock, int64_t ms, plag_text *text) {
  int year = 0, month = 0, day = 0;
  date_of_day(START_DAY + ms / MS_A_DAY, &year, &month, &day);
  if (clock == PLAG_CLOCK_DAY_FIRST)
    plag_text_add_format(text, "%02d.%02d.%04d", day, month, year);
  else if (clock == PLAG_CLOCK_MONTH_FIRST)
    plag_text_add_format(text, "%02d/%02d/%04d", month, day, year);
  else
    plag_text_add_format(text, "%04d-%02d-%02d", year, month, day);
}

/* hh:mm.ss.fff */
static void add_dotted(int64_t of_day_ms, plag_text *text) {
  plag_text_add_format(text, "%02d:%02d.%02d.%03d", (int)(of_day_ms / 3600000),
                       (int)(of_day_ms / 60000 % 60), (int)(of_day_ms / 1000 % 60),
                       (int)(of_day_ms % 1000));
}

/* A spreadsheet counts days since 1899-12-30. */
static void add_day_fraction(int64_t wall_ms, char decimal, plag_text *text) {
  const int64_t nano_days = ((wall_ms % MS_A_DAY) * 10000 + 432) / 864;
  plag_text_add_format(text, "%lld%c%09lld",
                       (long long)(START_DAY + 25569 + wall_ms / MS_A_DAY + nano_days / 1000000000),
                       decimal, (long long)(nano_days % 1000000000));
}

/* Stamps that lose something. */
static void add_coarse(plag_export_clock clock, char decimal, int64_t wall_ms, plag_text *text) {
  const int64_t second = wall_ms / 1000;
  if (clock == PLAG_CLOCK_DAY_FRACTION)
    add_day_fraction(wall_ms, decimal, text);
  else if (clock == PLAG_CLOCK_WHOLE_SECONDS)
    plag_text_add_format(text, "%02d:%02d:%02d", (int)(second / 3600 % 24), (int)(second / 60 % 60),
                         (int)(second % 60));
  else
    plag_text_add_format(text, "%02d:%02d%c%d", (int)(second / 60 % 60), (int)(second % 60),
                         decimal, (int)(wall_ms % 1000 / 100));
}

void plag_export_clock_add(plag_export_clock clock, char decimal, int64_t stamp_ms, bool date,
                           plag_text *text) {
  const int64_t wall_ms = START_MS + stamp_ms;
  const int64_t of_day_ms = wall_ms % MS_A_DAY;
  switch (clock) {
  case PLAG_CLOCK_SECONDS:
    add_seconds(stamp_ms, decimal, text);
    return;
  case PLAG_CLOCK_MILLISECONDS:
    plag_text_add_format(text, "%lld", (long long)stamp_ms);
    return;
  case PLAG_CLOCK_MICROSECONDS:
    plag_text_add_format(text, "%lld", (long long)(RECORDER_ON_US + stamp_ms * 1000));
    return;
  case PLAG_CLOCK_RUN_TIME:
    add_time(stamp_ms, 1, false, decimal, text);
    return;
  case PLAG_CLOCK_OF_DAY:
    add_time(of_day_ms, 2, false, decimal, text);
    return;
  case PLAG_CLOCK_MIDNIGHT:
    add_time((BEFORE_MIDNIGHT + stamp_ms) % MS_A_DAY, 2, false, decimal, text);
    return;
  case PLAG_CLOCK_AM_PM:
    add_time(of_day_ms, 1, true, decimal, text);
    return;
  case PLAG_CLOCK_EPOCH_S:
    add_seconds(START_DAY * MS_A_DAY + wall_ms, decimal, text);
    return;
  case PLAG_CLOCK_EPOCH_MS:
    plag_text_add_format(text, "%lld", (long long)(START_DAY * MS_A_DAY + wall_ms));
    return;
  case PLAG_CLOCK_EPOCH_US:
    plag_text_add_format(text, "%lld", (long long)(START_DAY * MS_A_DAY + wall_ms) * 1000);
    return;
  case PLAG_CLOCK_ZULU:
    add_date(clock, wall_ms - 3600000, text);
    plag_text_add_char(text, 'T');
    add_time((wall_ms - 3600000) % MS_A_DAY, 2, false, decimal, text);
    plag_text_add_char(text, 'Z');
    return;
  case PLAG_CLOCK_TIME_AND_ZONE:
    add_time(of_day_ms, 2, false, decimal, text);
    plag_text_add(text, "+01:00");
    return;
  case PLAG_CLOCK_DOTTED:
    add_dotted(of_day_ms, text);
    return;
  case PLAG_CLOCK_WHOLE_SECONDS:
  case PLAG_CLOCK_MINUTES_SECONDS:
  case PLAG_CLOCK_DAY_FRACTION:
    add_coarse(clock, decimal, wall_ms, text);
    return;
  case PLAG_CLOCK_DATE_AND_TIME:
    if (date)
      add_date(clock, wall_ms, text);
    else
      add_time(of_day_ms, 2, false, decimal, text);
    return;
  default:
    add_date(clock, wall_ms, text);
    plag_text_add_char(text, clock == PLAG_CLOCK_ISO || clock == PLAG_CLOCK_ISO_ZONE ? 'T' : ' ');
    add_time(of_day_ms, 2, false, decimal, text);
    if (clock == PLAG_CLOCK_ISO_ZONE)
      plag_text_add(text, "+01:00");
    return;
  }
}
