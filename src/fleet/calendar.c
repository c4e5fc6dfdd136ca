/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/calendar.h"

#include <string.h>

#include "core/calendar.h"

/* Exactly `digits` digits at the front of what is left. */
static bool take_digits(const char **at, const char *end, int digits, int64_t *value) {
  *value = 0;
  if (end - *at < digits)
    return false;
  for (int i = 0; i < digits; i++) {
    const char c = (*at)[i];
    if (c < '0' || c > '9')
      return false;
    *value = 10 * *value + (c - '0');
  }
  *at += digits;
  return true;
}

static bool take_any(const char **at, const char *end, const char *among, char *found) {
  *found = '\0';
  if (*at < end && strchr(among, **at) != NULL) {
    *found = **at;
    ++*at;
    return true;
  }
  return false;
}

static bool is_day(plag_date date) {
  const plag_date next = date.month == 12 ? (plag_date){date.year + 1, 1, 1}
                                          : (plag_date){date.year, date.month + 1, 1};
  return date.year >= 1 && date.month >= 1 && date.month <= 12 && date.day >= 1 &&
         plag_calendar_day(date) < plag_calendar_day(next);
}

static bool read_day(const char **at, const char *end, int64_t *days) {
  int64_t year = 0;
  int64_t month = 0;
  int64_t day = 0;
  char mark = '\0';
  if (!take_digits(at, end, 4, &year))
    return false;
  const bool marked = take_any(at, end, "-_.", &mark);
  if (!take_digits(at, end, 2, &month))
    return false;
  char second = '\0';
  if (marked && (!take_any(at, end, "-_.", &second) || second != mark))
    return false;
  if (!take_digits(at, end, 2, &day))
    return false;
  const plag_date date = {year, (int)month, (int)day};
  *days = plag_calendar_day(date);
  return is_day(date);
}

/* Hours and minutes, and seconds or none. */
static bool read_time(const char **at, const char *end, int64_t *seconds) {
  int64_t hour = 0;
  int64_t minute = 0;
  int64_t second = 0;
  char mark = '\0';
  if (!take_digits(at, end, 2, &hour))
    return false;
  const bool marked = take_any(at, end, ":-.", &mark);
  if (!take_digits(at, end, 2, &minute))
    return false;
  if (*at < end && **at != 'Z') {
    char again = '\0';
    if (marked && (!take_any(at, end, ":-.", &again) || again != mark))
      return false;
    if (!take_digits(at, end, 2, &second))
      return false;
  }
  *seconds = 3600 * hour + 60 * minute + second;
  return hour < 24 && minute < 60 && second < 60;
}

bool plag_date_read(const char *text, size_t length, int64_t *unix_s) {
  const char *at = text;
  const char *end = text + length;
  int64_t days = 0;
  int64_t seconds = 0;
  char mark = '\0';
  if (!read_day(&at, end, &days))
    return false;
  if (at < end && (!take_any(&at, end, "T _-", &mark) || !read_time(&at, end, &seconds)))
    return false;
  (void)take_any(&at, end, "Z", &mark);
  if (at != end)
    return false;
  *unix_s = PLAG_DAY_SECONDS * days + seconds;
  return true;
}

const char *plag_date_format(int64_t unix_s, char text[PLAG_DATE_BYTES]) {
  (void)plag_stamp_format(unix_s, text);
  text[strcspn(text, "T")] = '\0';
  return text;
}

const char *plag_stamp_format(int64_t unix_s, char text[PLAG_DATE_BYTES]) {
  plag_calendar_format(unix_s, 'T', text);
  return text;
}
