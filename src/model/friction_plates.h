/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plates with friction as they are described, and what a walk over a record leaves of them. The
 * pull that lets go is no parameter like the others: between two pulls that occur it makes no
 * difference, and across one it makes a jump. */
#ifndef PLAG_MODEL_FRICTION_PLATES_H
#define PLAG_MODEL_FRICTION_PLATES_H

#include "model/friction_record.h"
#include "model/stiction.h"

enum {
  PLAG_BY_BEHIND,
  PLAG_BY_OFFSET,
  PLAG_BY_FACTOR,
  PLAG_BY_DEAD_TIME,
  PLAG_BY_LOG_TAU_OPEN,
  PLAG_BY_LOG_TAU_CLOSE,
  PLAG_FRICTION_PARAMETERS
};

/* Whose the lag is: of plates that let go and then take their time, or of the pull, which takes
 * time to build up on plates that answer at once (friction_ahead.h). */
typedef enum plag_lag_order { PLAG_LAG_BEHIND, PLAG_LAG_AHEAD, PLAG_LAG_ORDERS } plag_lag_order;

/* A description of the plates. */
typedef struct plag_friction_model {
  plag_lag_order order;
  plag_stiction element;
  double offset_pct, factor; /* target = offset + factor * map */
  plag_lag_point lag;
} plag_friction_model;

/* Pulls at the changes: every element that lets go between these two, and is the same otherwise,
 * does the same. */
typedef struct plag_friction_cell {
  double most_withstood_pct, least_released_pct;
  bool begins_by_leave; /* but where a stretch begins hangs on the pull that lets go as well */
} plag_friction_cell;

/* What a walk leaves; arrays are of the record's samples. */
typedef struct plag_friction_walk {
  double *predicted_pct;
  double *spread_pct2; /* variance by the moments of changes */
  double *derivative;  /* PLAG_FRICTION_PARAMETERS a sample, when asked for */
  uint16_t *movement;  /* how many times plates had let go by then, when asked for */
  plag_friction_cell cell;
  /* How its two pulls depend on the parameters, when asked for. */
  double withstood_by[PLAG_FRICTION_PARAMETERS], released_by[PLAG_FRICTION_PARAMETERS];
} plag_friction_walk;

/* What an event whose moment is known to `open_s` adds to the variance of what goes `moved_pct` by
 * it: that is as far off as it goes in that time, and by half of it at the most. */
static inline double plag_friction_timing_pct2(double moved_pct, double inverse_tau,
                                               double open_s) {
  const double shift = inverse_tau * open_s;
  const double share = shift * shift / 12.0;
  return moved_pct * moved_pct * (share < 0.25 ? share : 0.25);
}

#endif
