/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Minus the log likelihood of residuals, up to a constant: half the sum of ln(v (1 + r^2 / (4
 * v))^5), Student's t with 4 degrees of freedom, v the variance. Kept as two products, so that many
 * samples take one logarithm and none a division. */
#ifndef PLAG_MODEL_FRICTION_TALLY_H
#define PLAG_MODEL_FRICTION_TALLY_H

#include <math.h>
#include <stddef.h>

#define PLAG_FRICTION_MOST_PRODUCT 1e120 /* one more sample cannot overflow */

typedef struct plag_friction_tally {
  double inverse_noise; /* 1 / variance of what is always there */
  double above, below;  /* products of (v + r^2 / 4)^5 and of v^4, in units of that variance */
  double sum;
} plag_friction_tally;

static inline plag_friction_tally plag_friction_tally_of(double noise_pct) {
  return (plag_friction_tally){
      .inverse_noise = 1.0 / (noise_pct * noise_pct), .above = 1.0, .below = 1.0};
}

/* A residual whose variance is the noise's and `spread_pct2` more. */
static inline void plag_friction_tally_add(plag_friction_tally *tally, double residual_pct,
                                           double spread_pct2) {
  const double below = 1.0 + spread_pct2 * tally->inverse_noise;
  const double above = below + 0.25 * (residual_pct * residual_pct) * tally->inverse_noise;
  const double above_square = above * above;
  const double below_square = below * below;
  tally->above *= above_square * above_square * above;
  tally->below *= below_square * below_square;
  if (tally->above > PLAG_FRICTION_MOST_PRODUCT) { /* never less than the other */
    tally->sum += log(tally->above) - log(tally->below);
    tally->above = tally->below = 1.0;
  }
}

static inline double plag_friction_tally_cost(const plag_friction_tally *tally, size_t count) {
  return 0.5 * (tally->sum + log(tally->above) - log(tally->below) -
                (double)count * log(tally->inverse_noise));
}

#endif
