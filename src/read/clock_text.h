/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The text of a clock cell -> its parts. What the parts mean is decided for the whole file. */
#ifndef PLAG_READ_CLOCK_TEXT_H
#define PLAG_READ_CLOCK_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* In which order a date names its parts. */
typedef enum plag_date_order {
  PLAG_DATE_YEAR_FIRST,
  PLAG_DATE_DAY_FIRST,
  PLAG_DATE_MONTH_FIRST,
  PLAG_DATE_UNDECIDED
} plag_date_order;

typedef struct plag_stamp {
  bool has_date;
  bool has_time;
  bool has_zone;
  bool twelve_hours; /* AM or PM stood behind; already reckoned in */
  bool year_first;
  bool dotted;     /* the date's parts were parted by points, which no one writes month first */
  int part[3];     /* of the date: year, month, day when year_first; else day, month in the order
                      of the file, then the year */
  int fields;      /* of the time: 2 (mm:ss or h:mm) or 3 */
  int64_t day_ns;  /* time of day, or run time; with two fields read as mm:ss */
  int decimals;    /* digits of the fraction of a second */
  int64_t zone_ns; /* east of Greenwich */
} plag_stamp;

/* Reads the whole cell: a date, a time of day, or both ("2021-03-04T07:39:45.440+01:00",
 * "4.3.2021 7:39:45,44", "07:39.45.440", "8:30:00 AM", "39:45.0"). False when it is none. */
bool plag_stamp_read(const char *text, size_t length, plag_stamp *out);

/* Days since 1970-01-01 of the stamp's date read in `order`; false when there is no such day. */
bool plag_stamp_day(const plag_stamp *stamp, plag_date_order order, int64_t *day);

/* Reads a plain number as whole and billionths, exactly: "1700000000.123456789". `decimal` is the
 * file's; a comma fraction is taken too where the point is not used. False when it is none or does
 * not fit. */
bool plag_clock_number_read(const char *text, size_t length, char decimal, int64_t *whole,
                            int64_t *billionths, int *decimals);

#endif
