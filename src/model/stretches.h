/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stretches: parts of the record as it is, command changes and readings, for commands whose steps
 * do not stand alone. A bounded number of readings, spread over the capture where the command is
 * busy, so that a long capture costs no more than a short one. */
#ifndef PLAG_MODEL_STRETCHES_H
#define PLAG_MODEL_STRETCHES_H

#include "model/parts.h"

#define PLAG_STRETCH_SAMPLES ((size_t)1600)
#define PLAG_STRETCH_EVENTS  ((size_t)2400)
#define PLAG_STRETCHES       ((size_t)96)
#define PLAG_STRETCH_LEAD_S  2.5 /* changes so long before the first reading are still listed */

/* A place between two knots of the map: the share of the upper one. */
typedef struct plag_knot_place {
  unsigned char below, above;
  double share;
} plag_knot_place;

typedef struct plag_stretch_event {
  double by_s;    /* first command sample that shows the value; since the stretch's first reading */
  double width_s; /* it happened so long before at most */
  double unsure_s; /* of that, what nothing tells: none inside a ramp, which goes on evenly */
  bool alone;      /* no other right before or behind it */
  double command;  /* the new value */
  plag_knot_place place;
} plag_stretch_event;

typedef struct plag_stretch {
  size_t first, count;
  size_t first_event, event_count;
  double command; /* before the first event */
  plag_knot_place place;
} plag_stretch;

typedef struct plag_stretches {
  size_t count, sample_count, event_count;
  plag_stretch *stretch;
  double *time_s; /* since the stretch's first reading */
  double *travel_pct;
  bool *usable;        /* void readings are not */
  double *timing_pct2; /* variance of readings by unknown moments of changes, as the fit has it */
  plag_stretch_event *event;
  size_t knots;
  double knot_command[PLATELAG_MAP_KNOTS];
} plag_stretches;

/* Cuts stretches out and chooses the map's knots; all arrays lie in the workspace. Held readings,
 * when they are left out, end a stretch. */
platelag_status plag_stretches_build(plag_model *model, bool without_held, plag_stretches *out,
                                     platelag_error *error);

#endif
