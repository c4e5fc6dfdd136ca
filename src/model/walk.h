/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * First order behind a dead time, simulated over stretches of the record together with its
 * derivatives by every parameter, exactly: between events the input is constant, x goes as
 * w + (x - w) exp(-d / tau), and a shift of an event's time by dt moves x by (x' before - x' after)
 * dt (the saltation of hybrid systems; derived). The same saltation tells what the unknown moment
 * of a change adds to the variance of the readings behind it. */
#ifndef PLAG_MODEL_WALK_H
#define PLAG_MODEL_WALK_H

#include "model/stretches.h"

enum { PLAG_WALK_DEAD_TIME, PLAG_WALK_LOG_TAU_CLOSE, PLAG_WALK_LOG_TAU_OPEN, PLAG_WALK_KNOTS };
#define PLAG_WALK_PARAMETERS (PLAG_WALK_KNOTS + PLATELAG_MAP_KNOTS)

typedef struct plag_walk_model {
  double parameter[PLAG_WALK_PARAMETERS]; /* dead time, log tau each way, travel at the knots */
  bool on_rows; /* changes happen on the rows that show them, else in the middle of their bracket */
} plag_walk_model;

/* One reading against the simulation. */
typedef struct plag_walk_point {
  size_t stretch, sample;
  double time_s, dt_s; /* since the stretch's first reading, and the last */
  double residual_pct;
  double timing_variance_pct2;     /* from the unknown moments of changes */
  const plag_stretch_event *event; /* felt last; NULL before the first */
  double nudge_pct_per_s;          /* what a later moment of that event would change */
  const double *derivative;        /* of the simulation, by each parameter */
} plag_walk_point;

/* Calls `visit` for each usable reading but the first of each stretch, where plates start, until it
 * answers false. */
void plag_walk(const plag_stretches *stretches, const plag_walk_model *model,
               bool (*visit)(const plag_walk_point *point, void *context), void *context);

#endif
