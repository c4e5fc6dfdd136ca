/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the sampling does not resolve a tau: how long t63 can be at most. */
#include <math.h>

#include "model/response.h"

/* Taus are tried in steps of this ratio, dead times in so many steps below the likeliest. */
#define RATIO       1.3
#define TAU_MOST_S  4.0
#define DEAD_TIMES  8
#define TAUS_BEYOND 2 /* so many taus too long end the search */
/* Half of the chi-square of one degree that 90 % lie below. */
#define COST_BEYOND 1.3528

/* The least cost of a tau over dead times up to the likeliest; `*t63_s` is then the longest t63
 * that is not beyond. */
static bool is_beyond(const plag_normal_job *j, const plag_walk_model *best, double tau_s,
                      double most_cost, double *t63_s) {
  bool beyond = true;
  for (int i = 0; i <= DEAD_TIMES; i++) {
    plag_walk_model model = *best;
    const double most_s = fmax(best->parameter[PLAG_WALK_DEAD_TIME], 0.0);
    const double dead_time_s = most_s * (1.0 - (double)i / DEAD_TIMES);
    model.parameter[PLAG_WALK_DEAD_TIME] = dead_time_s;
    model.parameter[PLAG_WALK_LOG_TAU_CLOSE] = model.parameter[PLAG_WALK_LOG_TAU_OPEN] = log(tau_s);
    plag_normal n;
    plag_normal_walk(j, &model, 0, 0.0, SIZE_MAX, false, &n);
    if (n.cost > most_cost)
      continue;
    beyond = false;
    *t63_s = fmax(*t63_s, dead_time_s + tau_s);
  }
  return beyond;
}

double plag_response_t63_limit_s(const plag_normal_job *j, const plag_walk_model *best,
                                 double independent_share) {
  plag_normal n;
  plag_normal_walk(j, best, 0, 0.0, SIZE_MAX, true, &n);
  const double most_cost = n.cost + COST_BEYOND / fmax(independent_share, 0.05);
  double t63_s = fmax(best->parameter[PLAG_WALK_DEAD_TIME], 0.0) + PLAG_TAU_LEAST_S;
  int beyond = 0;
  for (double tau_s = PLAG_TAU_LEAST_S; tau_s < TAU_MOST_S && beyond < TAUS_BEYOND; tau_s *= RATIO)
    beyond = is_beyond(j, best, tau_s, most_cost, &t63_s) ? beyond + 1 : 0;
  return beyond < TAUS_BEYOND ? NAN : t63_s;
}
