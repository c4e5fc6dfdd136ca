/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the command asks for, in % of travel: each change with where it sends the plates by the
 * fit's map. Many walks go over it, so it is worked out once a map. */
#ifndef PLAG_MODEL_ASKED_H
#define PLAG_MODEL_ASKED_H

#include <stdbool.h>
#include <stdint.h>

#include "model/parts.h"

typedef struct plag_asked_change {
  int64_t at_ns; /* when it happened: the middle of its bracket, or the row that shows it */
  double pct;    /* asked for from then on; NaN where the map tells nothing */
} plag_asked_change;

/* Makes room for the trace's changes in the workspace; false without memory. Before the first walk
 * of a fit. */
bool plag_asked_take(plag_model *model);

/* The changes of one segment in order, each as it is felt `delay_s` after it happened. */
typedef struct plag_asked_walk {
  const plag_asked_change *change; /* of the trace */
  size_t next, end;
  int64_t delay_ns;
  double pct; /* asked for now */
} plag_asked_walk;

/* From the start of a segment, by the map as it is now. */
void plag_asked_begin(plag_asked_walk *walk, const plag_model *model, size_t segment,
                      double delay_s);

/* Whether another change is felt by then. */
static inline bool plag_asked_changes_by(const plag_asked_walk *walk, int64_t now_ns) {
  return walk->next < walk->end && walk->change[walk->next].at_ns + walk->delay_ns <= now_ns;
}

/* Takes the next change; tells when it is felt. */
static inline int64_t plag_asked_take_change(plag_asked_walk *walk) {
  const plag_asked_change *change = &walk->change[walk->next++];
  walk->pct = change->pct;
  return change->at_ns + walk->delay_ns;
}

/* Takes all changes that are felt by then; tells what is asked for. */
static inline double plag_asked_until(plag_asked_walk *walk, int64_t now_ns) {
  while (plag_asked_changes_by(walk, now_ns))
    (void)plag_asked_take_change(walk);
  return walk->pct;
}

#endif
