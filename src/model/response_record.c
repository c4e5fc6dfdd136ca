/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The response from stretches of the record: for commands that never let the plates settle. Given
 * dead time and one tau the map's knots are linear (variable projection): a grid over both finds
 * where to begin. Levenberg-Marquardt refines all together on the normal equations, which one walk
 * over the record gathers; nothing of the size of the record is stored. Readings shortly behind a
 * change weigh less, by what its unknown moment adds to their variance. */
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdint.h>

#include "model/intervals.h"
#include "model/normal.h"
#include "model/on_rows.h"
#include "model/response.h"

#define P              PLAG_WALK_PARAMETERS
#define ROUNDS         3
#define TRIALS         7
#define LEAST_GAIN     0.005 /* natural log: a tenth of a standard deviation */
#define TAU_LEAST_S    PLAG_TAU_LEAST_S
#define TAU_MOST_S     12.0
#define DEAD_TIME_MOST (PLAG_STRETCH_LEAD_S - 0.5)
#define GRID_SAMPLES   500
#define BLOCK_TAUS     3.0
#define BLOCK_LEAST_S  1.0
#define WORTH          20.0 /* natural log, against plates that never move */
/* Sd of what the command's course between rows leaves open however long the record is, as a share
 * of the bracket, for two levels and for a duty: measured, tests/recovery/test_busy.c. */
#define BRACKET_TWO_LEVELS 0.11
#define BRACKET_DUTY       0.07
#define LEAST_READINGS     30
#define LEAST_BLOCKS       6
#define MOST_LOG_TAU_SD    0.7

/* The knots that fit best, given dead time and a common tau; tells the cost then. */
static double project(const plag_normal_job *j, plag_walk_model *model) {
  plag_normal n;
  double step[P] = {0};
  for (size_t k = 0; k < j->stretches->knots; k++)
    model->parameter[PLAG_WALK_KNOTS + k] = 0.0;
  /* With every knot at 0 all readings look like outliers; plain squares are wanted. */
  plag_normal_job plain = *j;
  plain.variance = 1e6;
  plag_normal_walk(&plain, model, PLAG_WALK_KNOTS, 0.0, GRID_SAMPLES, true, &n);
  double squares = 2.0 * (n.cost - 0.5 * n.count * log(plain.variance));
  for (size_t k = PLAG_WALK_KNOTS; k < j->parameters; k++)
    n.a[k][k] += 1e-7 * (n.count + 1.0) / plain.variance;
  if (n.count < LEAST_READINGS || !plag_normal_solve(&n, PLAG_WALK_KNOTS, j->parameters, 0.0, step))
    return INFINITY;
  for (size_t k = PLAG_WALK_KNOTS; k < j->parameters; k++) {
    squares -= step[k] * n.g[k];
    model->parameter[k] = step[k];
  }
  return squares;
}

static double try_at(const plag_normal_job *j, double dead_time_s, double tau_s,
                     plag_walk_model *best, double *least) {
  plag_walk_model model = {.on_rows = true};
  model.parameter[PLAG_WALK_DEAD_TIME] = dead_time_s;
  model.parameter[PLAG_WALK_LOG_TAU_CLOSE] = model.parameter[PLAG_WALK_LOG_TAU_OPEN] = log(tau_s);
  const double squares = project(j, &model);
  if (squares < *least) {
    *least = squares;
    *best = model;
  }
  return squares;
}

/* Where to begin: tau at a few dead times, then dead time and tau about the best. */
static bool find_start(const plag_normal_job *j, plag_walk_model *best) {
  static const double taus_s[] = {0.04, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2};
  static const double dead_times_s[] = {0.05, 0.3, 0.9};
  double least = INFINITY;
  for (size_t i = 0; i < sizeof taus_s / sizeof taus_s[0]; i++)
    for (size_t k = 0; k < sizeof dead_times_s / sizeof dead_times_s[0]; k++)
      (void)try_at(j, dead_times_s[k], taus_s[i], best, &least);
  double reach_s = 0.2;
  double ratio = 1.4;
  for (int round = 0; round < 3 && isfinite(least); round++) {
    const double dead_time_s = best->parameter[PLAG_WALK_DEAD_TIME];
    const double tau_s = exp(best->parameter[PLAG_WALK_LOG_TAU_OPEN]);
    for (int way = -1; way <= 1; way += 2) {
      (void)try_at(j, fmax(dead_time_s + way * reach_s, 0.0), tau_s, best, &least);
      (void)try_at(j, dead_time_s, tau_s * pow(ratio, way), best, &least);
      (void)try_at(j, fmax(dead_time_s - way * 0.5 * reach_s, 0.0),
                   tau_s + way * 0.5 * reach_s > TAU_LEAST_S ? tau_s + way * 0.5 * reach_s : tau_s,
                   best, &least);
    }
    reach_s *= 0.5;
    ratio = sqrt(ratio);
  }
  return isfinite(least);
}

/* What the step is expected to gain. */
static double expected_gain(const plag_normal *n, const double *step, size_t parameters) {
  double sum = 0.0;
  for (size_t i = 0; i < parameters; i++)
    sum += step[i] * n->g[i];
  return 0.5 * sum;
}

static bool take_step(const plag_walk_model *from, const double *step, const plag_normal_job *j,
                      plag_walk_model *to) {
  *to = *from;
  double shrink = 1.0;
  if (fabs(step[PLAG_WALK_DEAD_TIME]) > 0.2)
    shrink = 0.2 / fabs(step[PLAG_WALK_DEAD_TIME]);
  for (size_t way = 0; way < 2; way++)
    if (fabs(step[PLAG_WALK_LOG_TAU_CLOSE + way]) * shrink > 0.6)
      shrink = 0.6 / fabs(step[PLAG_WALK_LOG_TAU_CLOSE + way]);
  for (size_t i = 0; i < j->parameters; i++) {
    if (!isfinite(step[i]))
      return false;
    to->parameter[i] += shrink * step[i];
  }
  double *dead_time_s = &to->parameter[PLAG_WALK_DEAD_TIME];
  *dead_time_s = fmin(fmax(*dead_time_s, -0.1), DEAD_TIME_MOST);
  for (size_t way = 0; way < 2; way++) {
    double *log_tau = &to->parameter[PLAG_WALK_LOG_TAU_CLOSE + way];
    *log_tau = fmin(fmax(*log_tau, log(TAU_LEAST_S)), log(TAU_MOST_S));
  }
  if (j->tied)
    to->parameter[PLAG_WALK_LOG_TAU_OPEN] = to->parameter[PLAG_WALK_LOG_TAU_CLOSE];
  return true;
}

/* `renew`: weights by this model; else as they were, so that costs compare. */
static void walk_with_prior(const plag_normal_job *j, const plag_walk_model *model,
                            size_t most_count, bool renew, plag_normal *out) {
  plag_normal_walk(j, model, 0, 0.0, most_count, renew, out);
  plag_normal_add_curvature(j, model, out);
}

/* Refines everything on `most_count` readings; `n` is at the end what belongs to the model found.
 */
static void refine(plag_normal_job *j, plag_walk_model *model, size_t most_count, plag_normal *n) {
  double damping = 1e-3;
  walk_with_prior(j, model, most_count, true, n);
  for (int round = 0; round < ROUNDS; round++) {
    for (int trial = 0; trial < TRIALS; trial++) {
      double step[P] = {0};
      plag_walk_model next;
      plag_normal there;
      if (!plag_normal_solve(n, 0, j->parameters, damping, step) ||
          expected_gain(n, step, j->parameters) < LEAST_GAIN || !take_step(model, step, j, &next))
        break;
      walk_with_prior(j, &next, most_count, false, &there);
      if (!(there.cost < n->cost)) {
        damping *= 8.0;
        if (damping > 1e4)
          break;
        continue;
      }
      *model = next;
      *n = there;
      damping = fmax(damping * 0.15, 1e-9);
    }
    const double degrees = fmax(n->count - (double)j->parameters, 1.0);
    const double least = j->noise_pct * j->noise_pct;
    const double before = j->variance;
    j->variance = fmax(j->variance * n->chi2 / degrees, least);
    damping = 1e-3;
    if (fabs(j->variance / before - 1.0) < 0.01 && round > 0)
      break;
    walk_with_prior(j, model, most_count, true, n);
  }
}

/* Readings that count, autocorrelation taken off. */
static double effective(const plag_normal *n) {
  const double r = n->chi2 > 0.0 ? fmin(fmax(n->products / n->chi2, 0.0), 0.95) : 0.0;
  return n->count * (1.0 - r) / (1.0 + r);
}

/* How much more of the log likelihood `one` explains, on as many readings as are independent. */
static double odds(const plag_normal *one, const plag_normal *other) {
  const double share = fmin(effective(one) / one->count, effective(other) / other->count);
  return (other->cost - one->cost) * share;
}

typedef struct found {
  plag_normal_job j;
  plag_walk_model model;
  plag_normal n;
} found;

static void refine_from(const found *start, bool tied, bool on_rows, double dead_time_s,
                        found *out) {
  *out = *start;
  out->j.tied = tied;
  out->model.on_rows = on_rows;
  out->model.parameter[PLAG_WALK_DEAD_TIME] = dead_time_s;
  refine(&out->j, &out->model, SIZE_MAX, &out->n);
}

static double mean_width_s(const plag_stretches *s) {
  double sum = 0.0;
  for (size_t i = 0; i < s->event_count; i++)
    sum += s->event[i].width_s;
  return s->event_count > 0 ? sum / (double)s->event_count : 0.0;
}

/* Covariance of the parameters: the inverse curvature about the sum of squared blocks, which holds
 * for readings that go together inside a block (K.-Y. Liang, S. Zeger, Biometrika 73 (1986) 13). */
static bool find_covariance(const found *f, double covariance[P][P], size_t *blocks) {
  const double tau_s = exp(fmax(f->model.parameter[PLAG_WALK_LOG_TAU_CLOSE],
                                f->model.parameter[PLAG_WALK_LOG_TAU_OPEN]));
  plag_normal n;
  plag_normal_walk(&f->j, &f->model, 0, fmax(BLOCK_TAUS * tau_s, BLOCK_LEAST_S), SIZE_MAX, true,
                   &n);
  *blocks = n.blocks;
  if (n.blocks < LEAST_BLOCKS)
    return false;
  plag_normal_add_curvature(&f->j, &f->model, &n);
  const size_t size = f->j.parameters;
  double room[P * P];
  gsl_matrix_view a;
  if (!plag_normal_factor(&n, 0, size, 0.0, room, &a) ||
      gsl_linalg_cholesky_invert(&a.matrix) != GSL_SUCCESS)
    return false;
  /* Parameters take up part of what the blocks scatter. */
  const double few = (double)n.blocks / fmax((double)n.blocks - (double)size, 3.0);
  double half[P][P];
  for (size_t i = 0; i < size; i++)
    for (size_t j = 0; j < size; j++) {
      half[i][j] = 0.0;
      for (size_t k = 0; k < size; k++)
        half[i][j] += gsl_matrix_get(&a.matrix, i, k) * (k >= j ? n.meat[k][j] : n.meat[j][k]);
    }
  for (size_t i = 0; i < size; i++)
    for (size_t j = 0; j < size; j++) {
      covariance[i][j] = 0.0;
      for (size_t k = 0; k < size; k++)
        covariance[i][j] += few * half[i][k] * gsl_matrix_get(&a.matrix, k, j);
    }
  return true;
}

static void report_way(const found *f, double covariance[P][P], const plag_response_view *view,
                       size_t blocks, int way, plag_response *out) {
  const size_t column = PLAG_WALK_LOG_TAU_CLOSE + (f->j.tied ? 0 : (size_t)way);
  const double dead_time_s = f->model.parameter[PLAG_WALK_DEAD_TIME];
  const double tau_s = exp(f->model.parameter[column]);
  const double log_sd = sqrt(covariance[column][column]);
  const double t63_variance = covariance[0][0] + 2.0 * tau_s * covariance[0][column] +
                              tau_s * tau_s * covariance[column][column];
  const double degrees = (double)(blocks - 1);
  const platelag_estimate tau = plag_estimate_of_log(tau_s, log_sd, degrees);
  const double most_s = tau_s * exp(gsl_cdf_tdist_Pinv(0.90, degrees) * log_sd);
  out->tau[way] = plag_response_tau(&tau, most_s, view->period_s, view->steps);
  plag_cloud cloud;
  plag_cloud_from_normal(&cloud, dead_time_s + tau_s, sqrt(fmax(t63_variance, 0.0)), degrees);
  plag_cloud_blur(&cloud, view->skew_s);
  out->t63[way] = plag_response_delay(&cloud);
  out->tau_s[way] = tau_s;
  out->has[way] = true;
}

static platelag_estimate at_most(double limit) {
  return (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, limit};
}

/* A tau that the sampling does not resolve: all that is known is how long the answer takes at most.
 */
static void report_limit(const found *f, const plag_response_view *view, plag_response *out) {
  const double t63_s =
      plag_response_t63_limit_s(&f->j, &f->model, effective(&f->n) / fmax(f->n.count, 1.0)) +
      view->skew_s;
  if (isnan(t63_s))
    return;
  out->convergence = PLATELAG_CONVERGED;
  out->dead_time = at_most(t63_s);
  out->dead_time_s = f->model.parameter[PLAG_WALK_DEAD_TIME];
  out->on_rows = f->model.on_rows;
  out->apart = false;
  for (size_t way = 0; way < 2; way++) {
    out->has[way] = true;
    out->t63[way] = out->tau[way] = at_most(t63_s);
    out->tau_s[way] = exp(f->model.parameter[PLAG_WALK_LOG_TAU_CLOSE + way]);
  }
}

static void report(const found *f, const plag_response_view *view, plag_response *out) {
  double covariance[P][P] = {{0.0}};
  size_t blocks = 0;
  const double width_s = f->model.on_rows ? 0.0 : mean_width_s(f->j.stretches);
  const double open_s = (f->j.stretches->knots == 2 ? BRACKET_TWO_LEVELS : BRACKET_DUTY) * width_s;
  out->convergence = PLATELAG_NOT_IDENTIFIABLE;
  if (!find_covariance(f, covariance, &blocks))
    return;
  for (size_t i = 0; i < PLAG_WALK_KNOTS - (f->j.tied ? 1 : 0); i++)
    if (!(covariance[i][i] > 0.0) || covariance[i][i] > MOST_LOG_TAU_SD * MOST_LOG_TAU_SD) {
      report_limit(f, view, out);
      return;
    }
  out->convergence = PLATELAG_CONVERGED;
  covariance[0][0] += 0.36 * open_s * open_s;
  for (size_t way = 0; way < 2; way++) {
    const size_t column = PLAG_WALK_LOG_TAU_CLOSE + way;
    const double tau_s = exp(f->model.parameter[column]);
    covariance[column][column] += open_s * open_s / (tau_s * tau_s);
  }
  for (int way = 0; way < 2; way++)
    report_way(f, covariance, view, blocks, way, out);
  plag_cloud cloud;
  out->dead_time_s = f->model.parameter[PLAG_WALK_DEAD_TIME];
  plag_cloud_from_normal(&cloud, out->dead_time_s, sqrt(covariance[0][0]), (double)(blocks - 1));
  plag_cloud_blur(&cloud, view->skew_s);
  out->dead_time = plag_response_delay(&cloud);
  out->on_rows = f->model.on_rows;
  out->apart = !f->j.tied;
}

static double travel_variance(const plag_stretches *s) {
  double sum = 0.0;
  double squares = 0.0;
  double count = 0.0;
  for (size_t i = 0; i < s->sample_count; i++)
    if (s->usable[i]) {
      sum += s->travel_pct[i];
      squares += s->travel_pct[i] * s->travel_pct[i];
      count += 1.0;
    }
  return count > 1.0 ? fmax(squares / count - sum / count * sum / count, 0.0) : 0.0;
}

/* Where to begin, by a grid; false where nothing fits. */
static bool begin(const plag_stretches *stretches, double noise_pct, double moved, found *best) {
  *best = (found){.j = {.stretches = stretches,
                        .noise_pct = noise_pct,
                        .variance = moved,
                        .tied = true,
                        .parameters = PLAG_WALK_KNOTS + stretches->knots}};
  if (!find_start(&best->j, &best->model))
    return false;
  best->j.variance = fmax(0.05 * moved, noise_pct * noise_pct);
  return true;
}

/* Both ways tied, the changes anywhere in their brackets or, where they show it, on their rows. */
static void fit_tied(const found *start, found *best) {
  const plag_stretches *stretches = start->j.stretches;
  const double half_width_s = 0.5 * mean_width_s(stretches);
  found other = *start;
  *best = *start;
  other.model.on_rows = false;
  other.model.parameter[PLAG_WALK_DEAD_TIME] += half_width_s;
  refine(&other.j, &other.model, GRID_SAMPLES, &other.n); /* a third of the cost, most of the way */
  refine_from(&other, true, false, other.model.parameter[PLAG_WALK_DEAD_TIME], best);
  plag_walk_model rows = best->model;
  rows.on_rows = true;
  rows.parameter[PLAG_WALK_DEAD_TIME] -= half_width_s;
  if (!plag_changes_are_on_rows(stretches, &rows))
    return;
  other = *best;
  refine_from(&other, true, true, rows.parameter[PLAG_WALK_DEAD_TIME], best);
}

/* A tau each way, where that explains more than it costs. */
static void untie(found *best) {
  found other;
  refine_from(best, false, best->model.on_rows, best->model.parameter[PLAG_WALK_DEAD_TIME], &other);
  if (odds(&other.n, &best->n) > 0.5 * log(fmax(effective(&other.n), 3.0)))
    *best = other;
}

void plag_response_from_record(const plag_stretches *stretches, double noise_pct,
                               const plag_response_view *view, plag_response *out,
                               platelag_fit *map) {
  out->convergence = PLATELAG_NO_DATA;
  const double moved = travel_variance(stretches);
  found start;
  found best;
  if (stretches->knots < 2 || stretches->sample_count < LEAST_READINGS ||
      moved < 9.0 * noise_pct * noise_pct || !begin(stretches, noise_pct, moved, &start))
    return;
  fit_tied(&start, &best);
  untie(&best);
  /* Plates that do not answer, or answer to something else, have no lag. */
  const double still = 0.5 * effective(&best.n) * log(moved / best.j.variance);
  if (still < WORTH)
    return;
  report(&best, view, out);
  if (out->convergence != PLATELAG_CONVERGED)
    return;
  map->map_knots = stretches->knots;
  for (size_t k = 0; k < stretches->knots; k++) {
    map->map_command[k] = stretches->knot_command[k];
    map->map_pct[k] = best.model.parameter[PLAG_WALK_KNOTS + k];
  }
}
