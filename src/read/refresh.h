/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How often a channel is truly renewed: recorders that poll one channel after another repeat the
 * last value of the others in every row. */
#ifndef PLAG_READ_REFRESH_H
#define PLAG_READ_REFRESH_H

#include <stdbool.h>
#include <stdint.h>

enum { PLAG_REFRESH_ROWS = 32, PLAG_REFRESH_LEVELS = 5, PLAG_REFRESH_STEPS = 64 };

/* Counts rows between changes of a value, for shapes with one clock; and times between samples, for
 * channels with times of their own. Memory is the same however long the file. Start from zero. */
typedef struct plag_refresh {
  uint32_t interval[PLAG_REFRESH_ROWS]; /* how often a change came after so many rows */
  uint32_t since;                       /* rows since the last change */
  bool changed;                         /* a change was seen in this segment */
  bool started;
  double last;
  double level[PLAG_REFRESH_LEVELS]; /* the first levels that differ */
  int levels;
  double step_s[PLAG_REFRESH_STEPS]; /* times between samples, thinned evenly */
  int steps;
  uint32_t stride, seen;
} plag_refresh;

/* A value that differs from the last. Only plag_refresh_row. */
void plag_refresh_change(plag_refresh *refresh, double value);

/* One row of a shared clock; NaN where the cell is missing. */
static inline void plag_refresh_row(plag_refresh *refresh, double value) {
  refresh->since++;
  if (value == value && !(refresh->started && value == refresh->last))
    plag_refresh_change(refresh, value);
}

/* A new segment: what lies across its begin is no interval. */
void plag_refresh_break(plag_refresh *refresh);

/* The time since the channel's last sample. */
void plag_refresh_step(plag_refresh *refresh, double step_s);

/* Rows between true updates: 1, 2 ...; 0 where too few changes were seen to say. `polled` is the
 * number of rows that other channels of the file show, 0 if none do: a channel of few levels, or
 * one that is commanded in steps (`stepped`), is believed only where it agrees. */
double plag_refresh_rows(const plag_refresh *refresh, double polled, bool stepped);

/* Median time between samples; 0 for none. */
double plag_refresh_step_s(const plag_refresh *refresh);

#endif
