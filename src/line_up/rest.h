/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the plates come to rest at the lowest and at the highest command, learned from a trace. */
#ifndef PLAG_LINE_UP_REST_H
#define PLAG_LINE_UP_REST_H

#include "platelag/trace.h"

/* Rest levels, in the position's unit, beyond which a reading is not believed. */
typedef struct plag_believable {
  double lowest;
  double highest;
} plag_believable;

typedef struct plag_rest {
  bool found;
  double at_low;  /* level at the lowest command */
  double at_high; /* level at the highest command */
} plag_rest;

/* From steady stretches at both ends of the command. Needs the trace's samples, segments and
 * command. Levels outside `believable` count only where an end shows nothing else. */
plag_rest plag_rest_learn(const platelag_trace *trace, plag_believable believable);

/* The range visited: 1st and 99th percentile of believable readings, at_low below at_high. */
plag_rest plag_rest_range(const platelag_trace *trace, plag_believable believable);

#endif
