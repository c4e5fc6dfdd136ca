/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The position sensor, its wires and the controller's converter: from the place of the shaft to the
 * reading, with every electrical fault there is a name for. */
#ifndef PLAG_PRACTICE_LINE_H
#define PLAG_PRACTICE_LINE_H

#include "practice/random.h"

typedef struct plag_line_parts {
  double reference_v;      /* 5.0 */
  double closed_v, open_v; /* of the sensor at the stops; closed_v > open_v: an inverted sensor */
  double noise_v;          /* sd, electrical */
  int converter_bits;      /* 8, 10 or 12 over the reference */

  /* faults; all zero when healthy, and all may be there together */
  double offset_v;
  double gain;          /* of the reading about 0 V; 1 */
  double pinned_v;      /* NaN: not pinned */
  double pinned_from_s; /* from then on */
  double frozen_from_s; /* NaN: never */
  double dropout_per_s; /* mean rate of losses of contact */
  double dropout_longest_s;
  double dropout_low_chance;                  /* of falling to the low rail, not the high one */
  double dropout_high_low, dropout_high_most; /* shares of the reference while high */
  double worn_at_v, worn_half_width_v;        /* where the track is worn */
  double worn_chance;                         /* of a bad reading there */
  double worn_low_chance;                     /* that it falls to the low rail */
  double drift_v_per_s;                       /* of the offset, from the start */
  double sag_per_s, sag_longest_s;            /* dips of the reference */
  double sag_to_v;
  double fault_noise_v; /* sd */
} plag_line_parts;

typedef struct plag_line {
  plag_line_parts parts;
  plag_random random;
  double next_dropout_s, dropout_end_s, dropout_v;
  double next_sag_s, sag_end_s;
  double frozen_v; /* NaN until it froze */
  bool lost;       /* the last reading had nothing to do with the shaft */
} plag_line;

/* A healthy line's parts; closed, open and noise are the caller's to change. */
plag_line_parts plag_line_healthy(void);

void plag_line_start(plag_line *line, const plag_line_parts *parts, plag_random random);

/* Reading in volts, on the converter's grid, of a shaft at `place` (share of travel) at `now_s`;
 * times must not fall. */
double plag_line_read_v(plag_line *line, double place, double now_s);

/* The reference as the controller measures it at the same time, volts. */
double plag_line_reference_v(const plag_line *line, double now_s);

#endif
