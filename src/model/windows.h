/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Windows: command steps that stand alone, with settled readings before and after, cut out of the
 * record with their own time axis. A bounded number, spread over the capture, carries what the
 * whole capture knows of a lag to within what matters. */
#ifndef PLAG_MODEL_WINDOWS_H
#define PLAG_MODEL_WINDOWS_H

#include "model/parts.h"

#define PLAG_WINDOWS       ((size_t)120)
#define PLAG_WINDOW_POINTS ((size_t)64)

/* A settled level beside a step: mean of `count` readings taken from_s .. to_s after the change. */
typedef struct plag_settled {
  double mean_pct;
  double count;
  double from_s, to_s;
  double pct; /* what the fit uses: the mean, drawn towards what that command gives elsewhere */
} plag_settled;

typedef struct plag_window {
  double width_s; /* the change happened within this time before 0 */
  double command_from, command_to;
  plag_settled before, after;
  bool opening;
  double rested_s;     /* from the last change before it to this one */
  size_t first, count; /* into time_s and travel_pct */
} plag_window;

typedef struct plag_windows {
  size_t count;
  plag_window *window;
  double *time_s;     /* since the first command sample that shows the new value */
  double *travel_pct; /* readings */
  double noise_pct;   /* sd of readings about their own settled level */
  double quantum_pct; /* of a reading */
  double spread_pct;  /* sd of settled levels of one command about each other */
} plag_windows;

/* Cuts the windows out; both arrays lie in the workspace. */
platelag_status plag_windows_build(plag_model *model, bool without_held, plag_windows *windows,
                                   platelag_error *error);

/* Takes what of the response is still to come at the end of each window into account: dead time and
 * tau each way are known by now. */
void plag_windows_correct(plag_windows *windows, double dead_time_s, double tau_open_s,
                          double tau_close_s);

/* Leaves out windows whose levels were read before the plates can have come to rest, now that it is
 * known how long they take. */
void plag_windows_drop_unsettled(plag_windows *windows, double dead_time_s, double tau_open_s,
                                 double tau_close_s);

/* Median time from the middle of the change's bracket to 63.2 % of the move, of one direction; NaN
 * without a window. */
double plag_windows_t63_s(const plag_windows *windows, bool opening);

#endif
