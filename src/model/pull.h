/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What pulls at plates that stand: how far the command asks them away, and how far plates without
 * friction would be gone by now. In an open loop the map tells. A controller that moves the duty
 * until the position fits asks by the duty: only where that, too, has left what holds the place
 * against the spring do plates withstand a pull. */
#ifndef PLAG_MODEL_PULL_H
#define PLAG_MODEL_PULL_H

#include "model/course.h"
#include "model/effort.h"

typedef enum plag_pull_kind {
  PLAG_PULL_BY_MAP,     /* open loop */
  PLAG_PULL_BY_DESIRED, /* a desired position alone */
  PLAG_PULL_BY_EFFORT,  /* closed loop: the duty is the command */
  PLAG_PULL_BY_BOTH,    /* desired position and duty: they must agree */
  PLAG_PULL_BY_GROWTH   /* closed loop without a spring: what the duty has grown by */
} plag_pull_kind;

typedef struct plag_pull {
  plag_pull_kind kind;
  double lowest_pct, highest_pct; /* where the plates were seen */
  const plag_effort *effort;      /* NULL where none is known */
  size_t cursor;
  double asked_pct; /* by effort: where it would have free plates by now */
  plag_decay decay;
} plag_pull;

void plag_pull_begin(plag_pull *pull, const plag_model *model);

/* Takes the course's sample in; once for each. */
void plag_pull_advance(plag_pull *pull, const plag_course *course);

/* What pulls at plates that stand; signed, % of travel. */
typedef struct plag_pulled {
  bool held;         /* the command asks them away, and free plates would be gone */
  double asked_pct;  /* how far the command asks beyond where they are, within their reach */
  double effort_pct; /* the same by effort; NaN where it is not known */
} plag_pulled;

/* Of plates that stand at `at_pct` since the target was `start_target_pct`, at the course's sample.
 * Less than `least_pct` does not count. */
plag_pulled plag_pull_look(const plag_pull *pull, plag_course *course, double at_pct,
                           double start_target_pct, double least_pct);

#endif
