/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The likelihood of one step's readings over when its answer began. A command change is known to
 * lie in (a, b] only; given tau the likelihood is integrated over the onset once, and its mean over
 * the bracket is then the difference of two of these integrals for any dead time (methods:
 * interval-censored change, marginalised). */
#ifndef PLAG_MODEL_ONSET_H
#define PLAG_MODEL_ONSET_H

#include "model/windows.h"

#define PLAG_ONSET_DELAYS 14

/* Dead times for which the likelihood is wanted. */
typedef struct plag_delays {
  double first_s, step_s;
  size_t count; /* at most PLAG_ONSET_DELAYS */
} plag_delays;

static inline double plag_delay_at(const plag_delays *delays, size_t index) {
  return delays->first_s + delays->step_s * (double)index;
}

/* How readings are weighed. */
typedef struct plag_onset_view {
  double variance_pct2; /* of a reading */
  bool on_rows;         /* the change happened exactly at b */
} plag_onset_view;

/* What of a window's sums of squares no tau changes: while plates rest at the old level, and about
 * the new one. */
typedef struct plag_onset_sums {
  double at_rest[PLAG_WINDOW_POINTS + 1];   /* squares of readings before index i */
  double about_end[PLAG_WINDOW_POINTS + 1]; /* of readings from i on */
} plag_onset_sums;

void plag_onset_sum_up(const plag_windows *windows, size_t index, plag_onset_sums *out);

/* Adds to `log_likelihood` (one a delay) what window `index`, whose `sums` these are, says at
 * `tau_s`. A step that fits nowhere counts with the logarithm of its misfit only, so that it cannot
 * decide alone. */
void plag_onset_add(const plag_windows *windows, size_t index, const plag_onset_sums *sums,
                    double tau_s, const plag_delays *delays, const plag_onset_view *view,
                    double *log_likelihood);

/* Residuals of a window at its best onset within delay_s + the bracket, first to last; returns how
 * many. Tells that onset too. */
size_t plag_onset_residuals(const plag_windows *windows, size_t index, double tau_s, double delay_s,
                            bool on_rows, double *residual_pct, double *onset_s);

#endif
