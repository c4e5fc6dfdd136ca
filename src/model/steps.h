/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Steps of the command and what the plates made of them, measured as with a ruler. */
#ifndef PLAG_MODEL_STEPS_H
#define PLAG_MODEL_STEPS_H

#include "model/parts.h"

#define PLAG_MOST_STEPS 5000

/* A transition of the command: one change, or the two or three rows in which a controller goes
 * from one level to another. */
typedef struct plag_transition {
  int64_t after_ns, by_ns; /* last sample of the old level, first of the new */
  double from, to;         /* in the command's unit */
  bool is_step;            /* not a ramp, and rests on both sides */
  int64_t next_ns;         /* when the command moves on, or the segment ends */
  bool last;               /* of its segment */
} plag_transition;

typedef struct plag_transitions {
  const platelag_trace *trace;
  size_t segment;
  size_t next; /* change */
  double merge_s, rest_s;
  int64_t rested_since_ns;
} plag_transitions;

/* Every transition of one segment, in order. */
void plag_transitions_begin(plag_transitions *walk, const platelag_trace *trace, size_t segment);
bool plag_transitions_next(plag_transitions *walk, plag_transition *out);

/* Once the response is known: rest errors, steps that came to a halt short of where they should,
 * and fit->coverage.samples_per_move. */
void plag_steps_finish(plag_model *model);

#endif
