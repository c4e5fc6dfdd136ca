/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a capture was begun: by the first stamp of a clock that names the day, else by a date in the
 * lines before the header. */
#ifndef PLAG_READ_STARTED_H
#define PLAG_READ_STARTED_H

#include "read/collect.h"

typedef struct plag_started {
  bool known;
  bool zoned;     /* UTC; otherwise the recorder's local time */
  int64_t unix_s; /* since 1970-01-01, rounded down */
} plag_started;

/* By the first `lines` lines of `head`. Only ISO 8601 dates count, since of any other the order of
 * day and month may be doubted, and only where all that stand there are of one day. A time of day
 * is taken where it stands with the date, and one alone; else the day's begin. Dates of a program,
 * a calibration or an export are passed over. */
plag_started plag_started_in_preamble(const char *head, size_t length, int64_t lines);

/* By the clock, after all rows were collected. Unknown where it names no day, where day and month
 * might be the other way round, and for a day before there were such recorders: a recorder whose
 * clock was never set. */
plag_started plag_started_by_clock(const plag_collector *collector, const plag_sample *sample);

#endif
