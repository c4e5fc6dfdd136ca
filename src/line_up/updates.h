/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * True updates: what a recorder repeats between two readings of a channel is no reading. */
#ifndef PLAG_LINE_UP_UPDATES_H
#define PLAG_LINE_UP_UPDATES_H

#include "line_up/recording.h"

/* The samples of a position that the sensor really gave, in order of time. Lent from the channel
 * when nothing had to be left out, else copied into the arena. */
typedef struct plag_updates {
  size_t count;
  const int64_t *time_ns;
  const double *level;
  size_t missing;      /* rows without a value */
  size_t repeats;      /* rows left out because the recorder repeated itself */
  int rows_per_update; /* 1: every row is an update */
  double row_period_s; /* median over present rows; 0 for fewer than two */
  double refresh_s;    /* median over the updates */
} plag_updates;

platelag_status plag_updates_take(const plag_recording *recording, const platelag_channel *channel,
                                  plag_arena *arena, plag_updates *out, platelag_error *error);

/* After how many rows of the channel its value can change: 1, or k when it was only ever seen to
 * change at multiples of k rows after its last change. */
int plag_updates_rows_per_change(const plag_recording *recording, const platelag_channel *channel);

/* Whether the channel's changes agree with an update at every `rows`-th row, even if there are too
 * few of them to find that by themselves. */
bool plag_updates_changes_fit(const plag_recording *recording, const platelag_channel *channel,
                              int rows);

/* The median time between present rows of a channel, of the first thousand; 0 for fewer than two.
 */
double plag_updates_present_period_s(const platelag_channel *channel, plag_rows_range rows);

/* The smallest step between neighbours that is seen often enough to be the converter's; 0 when
 * there is no step. */
double plag_updates_quantum(const double *level, size_t count);

#endif
