/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The log likelihood of steps that stand alone, tabulated over dead time and log tau, each
 * direction apart, and zoomed. Index 1 is opening, 0 closing. */
#ifndef PLAG_MODEL_STEP_SURFACE_H
#define PLAG_MODEL_STEP_SURFACE_H

#include <math.h>

#include "model/onset.h"
#include "model/response.h"

enum { PLAG_STEP_TAUS = 11 };

typedef struct plag_step_surface {
  plag_delays delays;
  double log_tau_first[2], log_tau_step[2];
  double value[2][PLAG_STEP_TAUS][PLAG_ONSET_DELAYS];
  size_t windows_of[2]; /* there are */
  double best;
  size_t best_delay, best_tau[2];
} plag_step_surface;

/* Where the axes may reach. */
typedef struct plag_step_bounds {
  double delay_least_s, delay_most_s;
  double tau_most_s[2];
} plag_step_bounds;

static inline double plag_step_tau_at(const plag_step_surface *s, int way, size_t index) {
  return exp(s->log_tau_first[way] + s->log_tau_step[way] * (double)index);
}

/* Every so-manieth window of one direction, `most` in all. */
static inline size_t plag_step_stride(const plag_step_surface *s, int way, size_t most) {
  return (s->windows_of[way] + most - 1) / most;
}

/* Fills the tables from `most` windows each way at the most. */
void plag_step_surface_tabulate(const plag_windows *windows, const plag_onset_view *view,
                                size_t most, plag_step_surface *s);

/* Sets the likeliest cell. */
void plag_step_surface_find_best(plag_step_surface *s);

/* New axes about what is likely. `noisier`: times the variance that the surface was made with,
 * which makes it so much flatter. */
void plag_step_surface_zoom(plag_step_surface *s, const plag_step_bounds *b, double noisier);

#endif
