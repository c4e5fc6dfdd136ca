/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

#include "model/friction_search.h"

#define P                PLAG_FRICTION_PARAMETERS
#define FREEDOM          4.0
#define TRIALS           4
#define MOST_TAU_S       12.0
#define LEAST_TAU_S      1e-3
#define MOST_DEAD_S      2.0
#define OVERSHOOT        0.5 /* plates may land this share of the pull beyond the target */
#define LEAST_GAIN       0.2 /* natural log: less is not worth a walk */
#define DRIVE_DEAD_SD_S  0.1
#define DRIVE_LOG_TAU_SD 0.5

/* Ends a movement, whose samples' share in the gradient is `sum`. */
static void end_movement(plag_friction_normal *n, double *sum) {
  for (int i = 0; i < P; i++) {
    n->gradient[i] += sum[i];
    for (int j = 0; j <= i; j++)
      n->meat[i][j] += sum[i] * sum[j];
  }
  n->movements++;
  memset(sum, 0, P * sizeof sum[0]);
}

/* Adds weight * by * by' to the lower half, in whole pairs of columns. */
static inline void add_square(double curvature[P][P], const double *by, double weight) {
  for (int a = 0; a < P; a++) {
    const double one = weight * by[a];
    for (int b = 0; b < (a + 2) / 2 * 2; b++)
      curvature[a][b] += one * by[b];
  }
}

static void gather(const plag_friction_search *s, const plag_friction_walk *walk,
                   plag_friction_normal *n) {
  const size_t count = s->record->sample_count;
  const double *travel_pct = s->record->travel_pct;
  const double noise_pct2 = s->noise_pct * s->noise_pct;
  double curvature[P][P] = {{0}};
  double sum[P] = {0};
  uint16_t movement = 0;
  *n = (plag_friction_normal){0};
  for (size_t i = 0; i < count; i++) {
    if (walk->movement[i] != movement) {
      end_movement(n, sum);
      movement = walk->movement[i];
    }
    const double *by = walk->derivative + i * P;
    const double r = travel_pct[i] - walk->predicted_pct[i];
    const double variance = noise_pct2 + walk->spread_pct2[i];
    const double weight = (1.0 + 1.0 / FREEDOM) / (variance + r * r / FREEDOM);
    for (int a = 0; a < P; a++)
      sum[a] += weight * r * by[a];
    add_square(curvature, by, weight);
  }
  end_movement(n, sum);
  memcpy(n->curvature, curvature, sizeof curvature);
}

static void values_of(const plag_friction_model *plates, double *value) {
  value[PLAG_BY_BEHIND] = plates->element.behind_pct;
  value[PLAG_BY_OFFSET] = plates->offset_pct;
  value[PLAG_BY_FACTOR] = plates->factor;
  value[PLAG_BY_DEAD_TIME] = plates->lag.dead_time_s;
  value[PLAG_BY_LOG_TAU_OPEN] = log(plates->lag.tau_open_s);
  value[PLAG_BY_LOG_TAU_CLOSE] = log(plates->lag.tau_close_s);
}

/* The response's lag is that of plates on a drive that is prompt. Where the drive takes the time it
 * says less. */
static double prior_sd(const plag_friction_search *s, const plag_friction_model *plates,
                       int parameter) {
  const double sd = s->prior.sd[parameter];
  if (plates->order == PLAG_LAG_BEHIND || parameter < PLAG_BY_DEAD_TIME)
    return sd;
  return fmax(sd, parameter == PLAG_BY_DEAD_TIME ? DRIVE_DEAD_SD_S : DRIVE_LOG_TAU_SD);
}

/* Minus the log of the prior. */
static double prior_cost(const plag_friction_search *s, const plag_friction_model *plates) {
  double value[P];
  double cost = 0.0;
  values_of(plates, value);
  for (int k = 0; k < P; k++) {
    const double off = (value[k] - s->prior.mean[k]) / prior_sd(s, plates, k);
    cost += 0.5 * off * off;
  }
  return cost;
}

static bool is_free(plag_friction_freedom freedom, int parameter) {
  switch (freedom) {
  case PLAG_REFINE_FREE:
    return parameter != PLAG_BY_BEHIND;
  case PLAG_REFINE_BEHIND_LAG:
    return parameter < PLAG_BY_DEAD_TIME;
  case PLAG_REFINE_ALL:
    break;
  }
  return true;
}

/* Takes a parameter out of the equations. */
static void hold(plag_friction_normal *n, int parameter) {
  for (int k = 0; k < P; k++)
    n->curvature[parameter > k ? parameter : k][parameter > k ? k : parameter] = 0.0;
  n->curvature[parameter][parameter] = 1.0;
  n->gradient[parameter] = 0.0;
}

static void add_prior(const plag_friction_search *s, const plag_friction_model *plates,
                      plag_friction_freedom freedom, plag_friction_normal *n) {
  double value[P];
  values_of(plates, value);
  for (int k = 0; k < P; k++) {
    const double weight = 1.0 / (prior_sd(s, plates, k) * prior_sd(s, plates, k));
    n->curvature[k][k] += weight;
    n->gradient[k] += weight * (s->prior.mean[k] - value[k]);
  }
  for (int k = 0; k < P; k++)
    if (!is_free(freedom, k))
      hold(n, k);
}

static bool solve(const plag_friction_normal *n, double damping, double *step) {
  double room[P * P];
  gsl_matrix_view a = gsl_matrix_view_array(room, P, P);
  for (size_t i = 0; i < P; i++)
    for (size_t j = 0; j <= i; j++) {
      const double value = n->curvature[i][j] * (i == j ? 1.0 + damping : 1.0);
      if (!isfinite(value))
        return false;
      gsl_matrix_set(&a.matrix, i, j, value);
      gsl_matrix_set(&a.matrix, j, i, value);
    }
  if (gsl_linalg_cholesky_decomp1(&a.matrix) != GSL_SUCCESS)
    return false;
  gsl_vector_const_view g = gsl_vector_const_view_array(n->gradient, P);
  gsl_vector_view x = gsl_vector_view_array(step, P);
  return gsl_linalg_cholesky_solve(&a.matrix, &g.vector, &x.vector) == GSL_SUCCESS;
}

/* How the pull that lets go moves with the pulls that it lies between. */
static double leave_step(const plag_friction_walk *walk, const double *step) {
  const bool has_least = isfinite(walk->cell.least_released_pct);
  double way = 0.0;
  for (int k = 0; k < P; k++) {
    const double low = walk->withstood_by[k];
    way += step[k] * (has_least ? 0.5 * (low + walk->released_by[k]) : low);
  }
  return way;
}

static double within(double value, double low, double high) {
  return fmin(fmax(value, low), high);
}

static plag_friction_model moved(const plag_friction_search *s, const plag_friction_model *from,
                                 const plag_friction_walk *walk, const double *step,
                                 bool with_friction) {
  plag_friction_model to = *from;
  plag_stiction *element = &to.element;
  if (with_friction) {
    element->leave_pct = within(element->leave_pct + leave_step(walk, step), 0.0, s->most_pull_pct);
    element->behind_pct = within(element->behind_pct + step[PLAG_BY_BEHIND],
                                 -OVERSHOOT * element->leave_pct, element->leave_pct);
  }
  to.offset_pct += step[PLAG_BY_OFFSET];
  to.factor = fmax(to.factor + step[PLAG_BY_FACTOR], 0.2);
  to.lag.dead_time_s =
      within(to.lag.dead_time_s + within(step[PLAG_BY_DEAD_TIME], -0.2, 0.2), 0.0, MOST_DEAD_S);
  to.lag.tau_open_s = within(to.lag.tau_open_s * exp(within(step[PLAG_BY_LOG_TAU_OPEN], -0.7, 0.7)),
                             LEAST_TAU_S, MOST_TAU_S);
  to.lag.tau_close_s =
      within(to.lag.tau_close_s * exp(within(step[PLAG_BY_LOG_TAU_CLOSE], -0.7, 0.7)), LEAST_TAU_S,
             MOST_TAU_S);
  return to;
}

/* Scores with derivatives, into s->walk. */
static plag_friction_place derive(plag_friction_search *s, const plag_friction_model *plates) {
  plag_friction_walk_derive(s->record, plates, &s->walk);
  return plag_friction_score_walked(s, plates);
}

void plag_friction_normal_of(plag_friction_search *s, const plag_friction_place *place,
                             plag_friction_freedom freedom, plag_friction_normal *n) {
  (void)derive(s, &place->plates);
  gather(s, &s->walk, n);
  add_prior(s, &place->plates, freedom, n);
}

/* Where a step as these equations tell leads, more and more carefully; false when it gains nothing.
 * `*cost` has the prior in it. */
static bool step_on(plag_friction_search *s, const plag_friction_normal *n, bool with_friction,
                    double *damping, plag_friction_place *best, double *cost) {
  for (int trial = 0; trial < TRIALS; trial++) {
    double step[P] = {0};
    if (!solve(n, *damping, step))
      return false;
    const plag_friction_model to = moved(s, &best->plates, &s->walk, step, with_friction);
    plag_friction_place there = plag_friction_score(s, &to);
    const double there_cost = there.cost + prior_cost(s, &to);
    if (there_cost < *cost) {
      there.map = best->map;
      *best = there;
      *cost = there_cost;
      *damping = fmax(0.1 * *damping, 1e-7);
      return true;
    }
    *damping = fmax(*damping, 1e-3) * 16.0;
  }
  return false;
}

plag_friction_place plag_friction_refine(plag_friction_search *s, plag_friction_place from,
                                         plag_friction_freedom freedom, int rounds) {
  double damping = 1e-4;
  plag_friction_place best = from;
  double cost = INFINITY;
  for (int round = 0; round < rounds; round++) {
    plag_friction_normal n;
    best = derive(s, &best.plates);
    best.map = from.map;
    cost = best.cost + prior_cost(s, &best.plates);
    gather(s, &s->walk, &n);
    add_prior(s, &best.plates, freedom, &n);
    const double before = cost;
    if (!step_on(s, &n, freedom != PLAG_REFINE_FREE, &damping, &best, &cost) ||
        before - cost < LEAST_GAIN)
      break;
  }
  return best;
}
