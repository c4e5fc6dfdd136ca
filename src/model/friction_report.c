/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction_report.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

#include "core/exponential.h"
#include "model/intervals.h"

#define P           PLAG_FRICTION_PARAMETERS
#define Q           (P + 1)
#define DROP        1.353 /* chi-square of one, 90 %, halved */
#define SURE        1.645 /* normal, 90 % */
#define RAMP_TEMPER 6.0
#define TAIL        0.04 /* a little less than 5 %: the ends of a box are not sharp */
#define WIDER       1.2
#define UNRESOLVED  2.5 /* high this many times low: a bracket, no number */
/* Sd of what the command's course between rows leaves open however long the record is, as a share
 * of what it goes in a row: measured, tests/recovery/test_friction.c. */
#define OPEN_SHARE 0.07
#define SLOPE_SHARE                                                                                \
  0.015 /* of the pull: least distance over which the likelihood's slope counts                    \
         */
#define SLOPE_LEAST_PCT 0.1
#define LEAST_LIMIT_PCT 0.25
#define BISECTIONS      5
#define GONE            5.0 /* of log likelihood, below the best: nothing is there */
#define REACH_STEPS     16
#define GRID            24

/* A^-1 M A^-1 by the Cholesky factor of A, with the small-sample factor of clusters. */
static bool find_covariance(const plag_friction_normal *n, double covariance[P][P],
                            double naive[P]) {
  double room[P * P];
  gsl_matrix_view a = gsl_matrix_view_array(room, P, P);
  for (size_t i = 0; i < P; i++)
    for (size_t j = 0; j <= i; j++) {
      gsl_matrix_set(&a.matrix, i, j, n->curvature[i][j]);
      gsl_matrix_set(&a.matrix, j, i, n->curvature[i][j]);
    }
  if (gsl_linalg_cholesky_decomp1(&a.matrix) != GSL_SUCCESS ||
      gsl_linalg_cholesky_invert(&a.matrix) != GSL_SUCCESS)
    return false;
  const double movements = (double)n->movements;
  const double small = movements > 1.0 ? movements / (movements - 1.0) : 1.0;
  for (size_t i = 0; i < P; i++) {
    naive[i] = gsl_matrix_get(&a.matrix, i, i);
    for (size_t j = 0; j < P; j++) {
      double sum = 0.0;
      for (size_t k = 0; k < P; k++)
        for (size_t m = 0; m < P; m++)
          sum += gsl_matrix_get(&a.matrix, i, k) * n->meat[k > m ? k : m][k > m ? m : k] *
                 gsl_matrix_get(&a.matrix, m, j);
      covariance[i][j] = small * sum;
    }
  }
  return true;
}

double plag_friction_samples_as_one(const plag_friction_normal *n) {
  double covariance[P][P];
  double naive[P];
  if (!find_covariance(n, covariance, naive))
    return 1.0;
  double ratio = 0.0;
  for (int k = PLAG_BY_BEHIND; k <= PLAG_BY_FACTOR; k++)
    ratio = fmax(ratio, covariance[k][k] / naive[k]);
  return fmax(ratio, 1.0);
}

/* Goes to another pull that lets go; no walk is needed where that makes no difference. */
static double cost_at_leave(plag_friction_search *s, plag_friction_place *at, double leave_pct) {
  if (!plag_friction_is_same(at, leave_pct)) {
    plag_friction_model plates = at->plates;
    plates.element.leave_pct = leave_pct;
    *at = plag_friction_score(s, &plates);
  }
  return at->cost;
}

/* A pull that stands for a cell of the grid: beside the best cell, which counts by itself. */
static double beside(const plag_friction_place *best, double leave_pct) {
  const double below_pct = best->cell.most_withstood_pct - 4.0 * PLAG_STICTION_HAIR_PCT;
  const double above_pct = best->cell.least_released_pct;
  if (!plag_friction_is_same(best, leave_pct))
    return leave_pct;
  return leave_pct - below_pct < above_pct - leave_pct ? fmax(below_pct, 0.0) : above_pct;
}

/* How much of `from` to `to` the best cell takes. */
static double taken_pct(const plag_friction_place *best, double from_pct, double to_pct) {
  const double low = fmax(best->cell.most_withstood_pct, from_pct);
  const double high = fmin(best->cell.least_released_pct, to_pct);
  return fmax(high - low, 0.0);
}

/* How far the pull that lets go can go one way before the likelihood is gone. */
static double reach_of(plag_friction_search *s, const plag_friction_place *best, double direction,
                       double gone) {
  const double bound =
      direction < 0.0 ? fmax(best->plates.element.behind_pct, 0.0) : s->most_pull_pct;
  double step = fmax(0.01 * best->plates.element.leave_pct, 0.05);
  double at = direction < 0.0 ? best->cell.most_withstood_pct : best->cell.least_released_pct;
  plag_friction_place there = *best;
  int beyond = 0;
  at = direction < 0.0 ? fmax(at, bound) : fmin(at, bound);
  for (int k = 0; k < REACH_STEPS && beyond < 2 && direction * (bound - at) > 0.0; k++) {
    at = direction > 0.0 ? fmin(at + step, bound) : fmax(at - step, bound);
    beyond = cost_at_leave(s, &there, at) - best->cost > gone ? beyond + 1 : 0;
    step *= 1.4;
  }
  return at;
}

typedef struct range {
  double low, middle, high;
  bool no_jump; /* is not ruled out */
} range;

/* The likelihood of the pull that lets go, integrated: it is a staircase, and not always with one
 * summit. */
static void integrate(plag_friction_search *s, const plag_friction_place *best, double as_one,
                      range *out) {
  const double low = reach_of(s, best, -1.0, GONE * as_one);
  const double high = reach_of(s, best, 1.0, GONE * as_one);
  const double width = (high - low) / GRID;
  double cost[GRID];
  double least = best->cost;
  plag_friction_place there = *best;
  plag_cloud cloud;
  for (int k = 0; k < GRID; k++) {
    cost[k] = cost_at_leave(s, &there, beside(best, low + (k + 0.5) * width));
    least = fmin(least, cost[k]);
  }
  plag_cloud_begin(&cloud, low, high);
  for (int k = 0; k < GRID; k++) {
    const double from = low + k * width;
    plag_cloud_add(&cloud, from + 0.5 * width, 0.5 * width,
                   exp((least - cost[k]) / as_one) *
                       (1.0 - taken_pct(best, from, from + width) / width));
  }
  /* The cell that the best lies in, often finer than the grid, by its own width. */
  const double own = taken_pct(best, low, high);
  if (own > 0.0)
    plag_cloud_add(&cloud, fmax(best->cell.most_withstood_pct, low) + 0.5 * own, 0.5 * own,
                   own / width * exp((least - best->cost) / as_one));
  const double middle = 0.5 * (best->cell.most_withstood_pct + best->cell.least_released_pct);
  const double half = 0.5 * (best->cell.least_released_pct - best->cell.most_withstood_pct);
  out->middle = plag_cloud_quantile(&cloud, 0.5);
  if (fabs(out->middle - middle) < half) /* then all of the cell is as likely */
    out->middle = middle;
  out->low = plag_cloud_quantile(&cloud, TAIL);
  out->high = plag_cloud_quantile(&cloud, 1.0 - TAIL);
  /* Where the bound itself is not ruled out it belongs to the range: plates may not jump at all. */
  if (low <= best->plates.element.behind_pct && (cost[0] - least) <= DROP * as_one) {
    out->no_jump = true;
    out->middle = fmin(out->middle, fmax(isfinite(middle) ? middle : low, low)); /* the likeliest */
    out->low = low;
    out->high = plag_cloud_quantile(&cloud, 1.0 - 2.0 * TAIL);
  }
}

/* What moves both pulls, movement by movement: the likelihood's slope over the pull that lets go,
 * from one side of it to the other, and over everything else. */
typedef struct joint {
  double curvature[Q][Q], meat[Q][Q];
  double movements;
} joint;

typedef struct share {
  double cost, gradient[P];
} share;

static void share_out(const plag_friction_search *s, const plag_friction_walk *walk,
                      const uint16_t *movement, share *of) {
  const double noise_pct2 = s->noise_pct * s->noise_pct;
  for (size_t i = 0; i < s->record->sample_count; i++) {
    share *to = &of[movement[i]];
    const double *by = walk->derivative + i * P;
    const double r = plag_friction_residual(s, walk, i);
    const double variance = noise_pct2 + walk->spread_pct2[i];
    const double odd = 1.0 + r * r / (4.0 * variance);
    to->cost += 0.5 * (5.0 * plag_log(odd) + plag_log(variance));
    for (int k = 0; k < P; k++)
      to->gradient[k] -= 1.25 / (variance * odd) * r * by[k];
  }
}

static void share_out_at(plag_friction_search *s, const plag_friction_place *best, double leave_pct,
                         share *of) {
  plag_friction_model plates = best->plates;
  plates.element.leave_pct = leave_pct;
  const plag_friction_walk centre = s->walk;
  s->walk = s->other;
  plag_friction_walk_derive(s->record, &plates, &s->walk);
  share_out(s, &s->walk, centre.movement, of);
  s->other = s->walk;
  s->walk = centre;
}

/* False without memory or where the numbers do not allow it. */
static bool look_at_both(plag_friction_search *s, const plag_friction_place *best,
                         const plag_friction_normal *n, double h, joint *out) {
  const size_t room = (size_t)s->walk.movement[s->record->sample_count - 1] + 1;
  share *of = plag_workspace_take(s->model->workspace, 3 * room, sizeof of[0]);
  if (!of)
    return false;
  memset(of, 0, 3 * room * sizeof of[0]);
  share_out(s, &s->walk, s->walk.movement, of);
  share_out_at(s, best, best->plates.element.leave_pct - h, of + room);
  share_out_at(s, best, best->plates.element.leave_pct + h, of + 2 * room);
  *out = (joint){0};
  for (int i = 0; i < P; i++)
    for (int j = 0; j <= i; j++)
      out->curvature[i][j] = n->curvature[i][j];
  double mean = 0.0;
  for (size_t c = 0; c < room; c++)
    mean += (of[2 * room + c].cost - of[room + c].cost) / (2.0 * h) / (double)room;
  for (size_t c = 0; c < room; c++) {
    const share *here = &of[c];
    const share *below = &of[room + c];
    const share *above = &of[2 * room + c];
    double slope[Q];
    for (int k = 0; k < P; k++) {
      slope[k] = here->gradient[k];
      out->curvature[P][k] += (above->gradient[k] - below->gradient[k]) / (2.0 * h);
    }
    slope[P] = (above->cost - below->cost) / (2.0 * h) - mean;
    out->curvature[P][P] += (above->cost + below->cost - 2.0 * here->cost) / (h * h);
    for (int i = 0; i < Q; i++)
      for (int j = 0; j <= i; j++)
        out->meat[i][j] += slope[i] * slope[j];
  }
  out->movements = (double)room;
  return true;
}

/* Variance of leave + sign * behind, sandwich; NaN where it cannot be told. */
static double joint_variance(const joint *both, double sign) {
  double room[Q * Q];
  gsl_matrix_view a = gsl_matrix_view_array(room, Q, Q);
  for (size_t i = 0; i < Q; i++)
    for (size_t j = 0; j <= i; j++) {
      gsl_matrix_set(&a.matrix, i, j, both->curvature[i][j]);
      gsl_matrix_set(&a.matrix, j, i, both->curvature[i][j]);
    }
  if (gsl_linalg_cholesky_decomp1(&a.matrix) != GSL_SUCCESS)
    return NAN;
  double by[Q] = {0};
  by[PLAG_BY_BEHIND] = sign;
  by[P] = 1.0;
  gsl_vector_view x = gsl_vector_view_array(by, Q);
  (void)gsl_linalg_cholesky_svx(&a.matrix, &x.vector);
  double variance = 0.0;
  for (size_t i = 0; i < Q; i++)
    for (size_t j = 0; j < Q; j++)
      variance += by[i] * both->meat[i > j ? i : j][i > j ? j : i] * by[j];
  return variance * both->movements / fmax(both->movements - 1.0, 1.0);
}

/* Sd of leave + sign * behind: through the pulls that the threshold lies between, and directly. */
static double sd_of(const plag_friction_search *s, double covariance[P][P], double sign) {
  const bool has_least = isfinite(s->walk.cell.least_released_pct);
  double by[P];
  for (int k = 0; k < P; k++)
    by[k] = has_least ? 0.5 * (s->walk.withstood_by[k] + s->walk.released_by[k])
                      : s->walk.withstood_by[k];
  by[PLAG_BY_BEHIND] += sign;
  double variance = 0.0;
  for (int i = 0; i < P; i++)
    for (int j = 0; j < P; j++)
      variance += by[i] * covariance[i][j] * by[j];
  return sqrt(fmax(variance, 0.0));
}

/* A figure that is the sum or the difference of both pulls (`sign`), each part of its error on its
 * own: the threshold's likelihood together with what moves the pulls that it lies between; or what
 * the movements scatter, where that is more; and what the command does between rows. */
static platelag_estimate figure_of(const plag_friction_search *s, const range *leaves,
                                   const joint *both, double covariance[P][P], double behind_pct,
                                   double sign) {
  const double value = leaves->middle + sign * behind_pct;
  const double sd = SURE * sd_of(s, covariance, sign);
  const double scatter = both ? SURE * sqrt(joint_variance(both, sign)) : 0.0;
  const double open = SURE * OPEN_SHARE * s->record->ramp_pct;
  double below = fmax(hypot(leaves->middle - leaves->low, sd), scatter);
  const double above = fmax(hypot(leaves->high - leaves->middle, sd), scatter);
  /* Without a jump the band is twice what plates stay behind, whatever the threshold's pulls. */
  if (leaves->no_jump && sign > 0.0)
    below = fmax(below, leaves->middle - behind_pct +
                            2.0 * SURE * sqrt(covariance[PLAG_BY_BEHIND][PLAG_BY_BEHIND]));
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, fmax(value, 0.0),
                             fmax(value - hypot(below, open), 0.0), value + hypot(above, open)};
}

/* What moving plates stay behind is read off where they come to rest, whatever holds them there.
 * Its interval is a little too narrow as it comes: measured, tests/recovery/test_friction.c. */
static platelag_estimate moving_of(const plag_friction_search *s, double covariance[P][P],
                                   double behind_pct) {
  const double sd = WIDER * SURE * sqrt(fmax(covariance[PLAG_BY_BEHIND][PLAG_BY_BEHIND], 0.0));
  const double half = hypot(sd, SURE * OPEN_SHARE * s->record->ramp_pct);
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, fmax(behind_pct, 0.0),
                             fmax(behind_pct - half, 0.0), fmax(behind_pct + half, 0.0)};
}

/* Limits are asked to hold the truth on their own, without a value between them. */
static platelag_estimate limit_of(const platelag_estimate *figure) {
  const double high = figure->value + WIDER * (figure->high - figure->value);
  return (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, high};
}

static platelag_estimate bracket_of(const platelag_estimate *figure) {
  platelag_estimate bracket = limit_of(figure);
  bracket.low = figure->value - WIDER * (figure->value - figure->low);
  if (bracket.low > 0.0)
    bracket.known = PLATELAG_KNOWN_BRACKET;
  else
    bracket.low = 0.0;
  return bracket;
}

void plag_friction_report_values(plag_friction_search *s, const plag_friction_place *best,
                                 const plag_friction_normal *n, double as_one, bool resolved) {
  platelag_friction *friction = &s->model->fit->friction;
  range leaves = {0};
  integrate(s, best, s->lag_is_open && s->record->ramp_pct > 0.0 ? RAMP_TEMPER * as_one : as_one,
            &leaves);
  const double reach = fmax(0.5 * (leaves.high - leaves.low), SLOPE_SHARE * leaves.middle);
  joint both;
  /* Where plates that do not jump are not ruled out the slope has no two sides. */
  const bool has_both =
      !leaves.no_jump && look_at_both(s, best, n, fmax(reach, SLOPE_LEAST_PCT), &both);
  double covariance[P][P] = {{0}};
  double naive[P];
  (void)find_covariance(n, covariance, naive);
  const double behind_pct = best->plates.element.behind_pct;
  const joint *scatter = has_both ? &both : NULL;
  friction->slip_jump_pct = figure_of(s, &leaves, scatter, covariance, behind_pct, -1.0);
  friction->stick_band_pct = figure_of(s, &leaves, scatter, covariance, behind_pct, 1.0);
  friction->moving_pct = moving_of(s, covariance, behind_pct);
  if (!resolved) {
    friction->stick_band_pct = limit_of(&friction->stick_band_pct);
    friction->slip_jump_pct = limit_of(&friction->slip_jump_pct);
    friction->moving_pct = limit_of(&friction->moving_pct);
  } else if (friction->stick_band_pct.high > UNRESOLVED * friction->stick_band_pct.low) {
    friction->stick_band_pct = bracket_of(&friction->stick_band_pct);
  }
}

/* How much less a pull of this size explains than none; plates land `ratio` of it behind. */
static double rise_with(plag_friction_search *s, const plag_friction_place *none, double leave_pct,
                        double ratio) {
  plag_friction_model plates = none->plates;
  plates.element.leave_pct = leave_pct;
  plates.element.behind_pct = ratio * leave_pct;
  return plag_friction_score(s, &plates).cost - none->cost;
}

/* The largest pull that explains as much as none, upwards from none. */
static double largest_with(plag_friction_search *s, const plag_friction_place *none, double ratio,
                           double drop) {
  double low = 0.0;
  double high = LEAST_LIMIT_PCT;
  while (high < s->most_pull_pct && rise_with(s, none, high, ratio) <= drop) {
    low = high;
    high *= 2.0;
  }
  for (int k = 0; k < BISECTIONS; k++) {
    const double middle = 0.5 * (low + high);
    *(rise_with(s, none, middle, ratio) <= drop ? &low : &high) = middle;
  }
  return high;
}

void plag_friction_report_limit(plag_friction_search *s, const plag_friction_place *none,
                                double as_one) {
  const double all_jump = largest_with(s, none, 0.0, DROP * as_one);
  const double no_jump = largest_with(s, none, 1.0, DROP * as_one);
  const double widest_pct = fmax(all_jump, 2.0 * no_jump);
  /* No jump is longer than plates that land on the target make it. */
  platelag_friction *friction = &s->model->fit->friction;
  friction->stick_band_pct = friction->slip_jump_pct =
      (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, widest_pct};
}
