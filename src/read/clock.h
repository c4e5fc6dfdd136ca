/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A clock column: how its cells are read, and how stamps that wrap, step back, repeat or begin anew
 * become a time that never falls. */
#ifndef PLAG_READ_CLOCK_H
#define PLAG_READ_CLOCK_H

#include "read/cell.h"
#include "read/clock_text.h"
#include "read/sample.h"

typedef enum plag_clock_kind {
  PLAG_CLOCK_ROWS,   /* no column: the row number at a stated rate */
  PLAG_CLOCK_NUMBER, /* seconds, milliseconds, days ... */
  PLAG_CLOCK_STAMP   /* time of day, with or without a date */
} plag_clock_kind;

/* How a clock column is read; decided once for the file (clock_find.h). */
typedef struct plag_clock_form {
  plag_clock_kind kind;
  int column;      /* from 0 */
  int date_column; /* a column of dates beside it, or -1 */
  plag_notation notation;
  int64_t unit_ns; /* of a number */
  bool since_1970; /* a number that counts from 1970-01-01, UTC */
  plag_date_order order;
  bool order_guessed;
  bool is_date; /* no clock itself: dates without a time */
  bool dated;   /* the stamps, or the date column, name the day */
  bool zoned;
  bool twelve_hours;     /* AM or PM stands behind */
  bool hours_minutes;    /* two fields are h:mm, not mm:ss */
  bool minutes_seconds;  /* two fields are mm:ss: the clock wraps after an hour */
  int64_t period_ns;     /* median step from row to row, after spreading */
  int64_t quantum_ns;    /* 0, or: several rows share a stamp of this resolution; to be spread */
  double rows_a_quantum; /* how many rows share it */
  double share;          /* of present cells that read as this clock */
  double falling;        /* share of steps that go back */
  double resting;        /* share of steps of nothing */
  double score;          /* how likely it is the file's clock; 0 not at all */
  const char *name;      /* "milliseconds", "ISO 8601" ...; static */
  char evidence[128];    /* why it is read so, where that is a guess; "" */
} plag_clock_form;

typedef enum plag_clock_answer {
  PLAG_CLOCK_READ,
  PLAG_CLOCK_MISSING,
  PLAG_CLOCK_BAD
} plag_clock_answer;

/* Latest time either side of an origin, ns (126 years), so that no difference of two overflows. */
#define PLAG_CLOCK_MOST_NS INT64_C(4000000000000000000)

/* The raw time of a row, ns since an origin of the form's own, at most PLAG_CLOCK_MOST_NS from it.
 * A date that does not exist in the guessed order turns the order. */
plag_clock_answer plag_clock_read(plag_clock_form *form, const plag_row *row, int64_t *raw_ns);

/* What happened on the way, for the notes. */
typedef struct plag_clock_count {
  size_t count;
  int64_t line; /* of the first */
} plag_clock_count;

typedef struct plag_clock {
  plag_clock_form form;
  bool started;
  int64_t last_raw_ns; /* highest since the last wrap or restart */
  int64_t last_ns;
  plag_clock_count midnight, set_back, jitter, restart, gap, repeated;
  plag_clock_count bad, stray; /* of several clocks: no stamp at all; far off by itself */
  size_t falls;                /* how often it began anew with an earlier stamp */
  bool waits;                  /* a far stamp, until the next tells what it is: collect_stamps.c */
  int64_t waiting_raw_ns, waiting_line;
} plag_clock;

void plag_clock_add(plag_clock_count *count, int64_t line);

/* More than this between two rows begins a new segment: five row periods, at least two seconds. A
 * logger that skips a poll or two goes on inside it; valves respond within it. */
int64_t plag_clock_gap_ns(const plag_clock_form *form);

/* Whether this stamp is far off the one before: a new segment would begin with it. */
bool plag_clock_is_far(const plag_clock *clock, int64_t raw_ns);

/* The time of the next row, ns since the first, never less than the one before. `*begins` says that
 * a new segment does, and why. `anew` asks for a new recording: what went before does not count. */
int64_t plag_clock_step(plag_clock *clock, int64_t raw_ns, int64_t line, bool anew,
                        platelag_break *why, bool *begins);

#endif
