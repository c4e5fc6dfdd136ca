/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plates that stick, by forces in small steps of time and not by the model's element: a spring
 * pulls them to where the command asks, viscous damping slows them, dry friction brakes them
 * (Coulomb, less once they move than to break loose). The truth is kept: when they stood and at
 * what pull. */
#ifndef PLATELAG_TESTS_MADE_STICKING_H
#define PLATELAG_TESTS_MADE_STICKING_H

#include "support/made_random.h"

#include "platelag/trace.h"

typedef struct plag_test_sticking {
  double breakaway_pct; /* pull that moves standing plates (fS) */
  double sliding_pct;   /* pull that friction takes while they move (fD) */
  double ridge_at_pct;  /* friction acts within ridge_half_pct of here only; half 0: everywhere */
  double ridge_half_pct;
  double dead_time_s, tau_s;
  double duration_s, rows_per_second, noise_pct;
  double ramp_share; /* of the command's moves; the rest are steps */
  uint64_t seed;
} plag_test_sticking;

/* Plates stood from `from_s` to `to_s` with the pull at or above what was asked for. */
typedef struct plag_test_stood {
  double from_s, to_s, position_pct;
} plag_test_stood;

/* Times at which plates stood although pulled by `least_pull_pct` or more, for `least_s` or longer,
 * go into `stood` (room for `room`), how many into `*count`. The caller destroys the trace with
 * plag_test_trace_destroy. */
platelag_trace *plag_test_sticking_make(const plag_test_sticking *plates, double least_pull_pct,
                                        double least_s, plag_test_stood *stood, size_t room,
                                        size_t *count);

#endif
