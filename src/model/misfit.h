/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where plates are not first order, their t63 is not dead time plus tau. The readings about that
 * time say how much sooner or later they pass 63.2 % of the move than the fitted course does. */
#ifndef PLAG_MODEL_MISFIT_H
#define PLAG_MODEL_MISFIT_H

#include "model/windows.h"

typedef struct plag_misfit {
  double later_s; /* than dead time plus tau; 0 where chance explains it */
  double error_s; /* sd of that */
} plag_misfit;

/* Of one direction, about the fitted `tau_s` and `dead_time_s`. */
plag_misfit plag_misfit_at_t63(const plag_windows *windows, bool opening, double tau_s,
                               double dead_time_s, bool on_rows);

#endif
