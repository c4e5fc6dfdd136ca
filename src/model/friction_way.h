/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What both walks of friction share: something on its way (plates, or their drive) that comes
 * nearer to where it goes, first order. Only the way is kept, and only it fades, so that a moment
 * waits for no more than one multiplication of the moment before. */
#ifndef PLAG_MODEL_FRICTION_WAY_H
#define PLAG_MODEL_FRICTION_WAY_H

#include "model/friction_plates.h"

/* What a walk is for: known where the code is made, so that each is a loop of its own. */
typedef enum plag_walk_purpose {
  PLAG_WALK_SCORE,   /* residuals into a tally */
  PLAG_WALK_PREDICT, /* predictions */
  PLAG_WALK_DERIVE   /* and how they depend on the parameters */
} plag_walk_purpose;

typedef struct plag_friction_rates {
  double open_per_s, close_per_s; /* 1 / tau */
} plag_friction_rates;

static inline plag_friction_rates plag_friction_rates_of(const plag_lag_point *lag) {
  return (plag_friction_rates){1.0 / lag->tau_open_s, 1.0 / lag->tau_close_s};
}

typedef struct plag_friction_way {
  double pct;         /* where it is less where it goes */
  double timing_pct2; /* variance by the moments of changes */
} plag_friction_way;

static inline double plag_friction_rate(const plag_friction_rates *rates,
                                        const plag_friction_way *way) {
  return way->pct < 0.0 ? rates->open_per_s : rates->close_per_s;
}

/* Up to a moment; `by` is how the way depends on the parameters, used to derive only. */
static inline void plag_friction_fade(const plag_friction_rates *rates, const plag_moment *moment,
                                      plag_walk_purpose what, plag_friction_way *way, double *by) {
  const bool opens = way->pct < 0.0;
  const double fade = opens ? moment->fade_open : moment->fade_close;
  way->pct *= fade;
  way->timing_pct2 *= fade * fade;
  if (what != PLAG_WALK_DERIVE)
    return;
  for (int k = 0; k < PLAG_FRICTION_PARAMETERS; k++)
    by[k] *= fade;
  by[opens ? PLAG_BY_LOG_TAU_OPEN : PLAG_BY_LOG_TAU_CLOSE] +=
      way->pct * moment->dt_s * (opens ? rates->open_per_s : rates->close_per_s);
}

#endif
