/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Days and seconds since 1970-01-01 and the dates they stand for. */
#ifndef PLAG_CORE_CALENDAR_H
#define PLAG_CORE_CALENDAR_H

#include <stdint.h>

enum { PLAG_CALENDAR_BYTES = 64, PLAG_DAY_SECONDS = 86400 };

/* A date of the proleptic Gregorian calendar (ISO 8601). */
typedef struct plag_date {
  int64_t year;
  int month; /* 1..12 */
  int day;   /* 1..31 */
} plag_date;

/* Days since 1970-01-01. A day beyond the end of its month counts on into the next. */
int64_t plag_calendar_day(plag_date date);

/* The date of a day since 1970-01-01. */
plag_date plag_calendar_date(int64_t day);

/* Writes seconds since 1970-01-01 as "2026-03-14T07:41:12", terminated; `between` parts date and
 * time. */
void plag_calendar_format(int64_t unix_s, char between, char text[PLAG_CALENDAR_BYTES]);

#endif
