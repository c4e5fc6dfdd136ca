/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The likelihood of one step's readings over when its answer began. A command change is known to
 * lie in (a, b] only; given tau the likelihood is tabulated over the onset once and cumulated, and
 * its mean over the bracket then costs two look-ups for any dead time (methods: interval-censored
 * change, marginalised). */
#ifndef PLAG_MODEL_ONSET_H
#define PLAG_MODEL_ONSET_H

#include "model/windows.h"

#define PLAG_ONSET_DELAYS 24
#define PLAG_ONSET_CELLS  400

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

/* Adds to `log_likelihood` (one a delay) what window `index` says at `tau_s`. A step that fits
 * nowhere counts with the logarithm of its misfit only, so that it cannot decide alone. Returns the
 * least sum of squares of the window over all onsets in reach. */
double plag_onset_add(const plag_windows *windows, size_t index, double tau_s,
                      const plag_delays *delays, const plag_onset_view *view,
                      double *log_likelihood);

/* Residuals of a window at its best onset within delay_s + the bracket, first to last; returns how
 * many. Tells that onset too. */
size_t plag_onset_residuals(const plag_windows *windows, size_t index, double tau_s, double delay_s,
                            bool on_rows, double *residual_pct, double *onset_s);

#endif
