/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/normal.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#define OUTLIER       4.0  /* sd: beyond, a reading pulls no harder */
#define CURVATURE_PCT 40.0 /* sd of a knot about its neighbours' line: only where data say less */

typedef struct gathering {
  plag_normal *sums;
  size_t parameters;
  size_t first;     /* parameter that is fitted */
  bool tied;        /* one tau */
  double variance;  /* of a reading, pct^2 */
  double variances; /* the product of those whose logarithm the cost does not have yet */
  double block_s;   /* 0: no blocks */
  double last_z, block_from_s;
  size_t stretch;
  size_t most_count; /* stops there: the grid */
  double *timing;    /* variances by timing, one a sample: */
  bool renew;        /* taken from the walk now, or as they are */
} gathering;

static void end_block(gathering *to) {
  plag_normal *n = to->sums;
  bool any = false;
  for (size_t i = to->first; i < to->parameters; i++) {
    any = any || n->block[i] != 0.0;
    for (size_t j = to->first; j <= i; j++)
      n->meat[i][j] += n->block[i] * n->block[j];
  }
  n->blocks += any;
  memset(n->block, 0, sizeof n->block);
}

static void take_logarithm(gathering *to) {
  to->sums->cost += 0.5 * log(to->variances);
  to->variances = 1.0;
}

/* Most of what a walk costs. Rows are summed up whole, though only the lower triangle is read: a
 * number of steps that is known when this is compiled takes fewer instructions than half of them.
 */
static inline void add_products(gathering *to, const double *d, double weight, double residual) {
  plag_normal *n = to->sums;
  for (size_t i = to->first; i < to->parameters; i++) {
    const double one = weight * d[i];
    double *row = n->a[i];
    n->g[i] += one * residual;
    for (size_t j = 0; j < PLAG_WALK_PARAMETERS; j++)
      row[j] += one * d[j];
  }
}

static bool gather(const plag_walk_point *point, void *context) {
  gathering *to = context;
  plag_normal *n = to->sums;
  if (to->renew)
    to->timing[point->sample] = point->timing_variance_pct2;
  const double variance = to->variance + to->timing[point->sample];
  const double z = point->residual_pct / sqrt(variance);
  const double share = fabs(z) > OUTLIER ? OUTLIER / fabs(z) : 1.0;
  const double weight = share / variance;
  double d[PLAG_WALK_PARAMETERS];
  memcpy(d, point->derivative, sizeof d);
  if (to->tied && to->first == 0) {
    d[PLAG_WALK_LOG_TAU_CLOSE] += d[PLAG_WALK_LOG_TAU_OPEN];
    d[PLAG_WALK_LOG_TAU_OPEN] = 0.0;
  }
  add_products(to, d, weight, point->residual_pct);
  n->cost += share < 1.0 ? OUTLIER * (fabs(z) - 0.5 * OUTLIER) : 0.5 * z * z;
  to->variances *= variance; /* one logarithm for many */
  if (to->variances > 1e120 || to->variances < 1e-120)
    take_logarithm(to);
  n->chi2 += share * z * z;
  n->count += 1.0;
  const bool same = point->stretch == to->stretch;
  if (same)
    n->products += share * z * to->last_z;
  to->last_z = share * z;
  if (to->block_s > 0.0) {
    if (!same || point->time_s - to->block_from_s > to->block_s) {
      end_block(to);
      to->block_from_s = point->time_s;
    }
    for (size_t i = to->first; i < to->parameters; i++)
      n->block[i] += weight * d[i] * point->residual_pct;
  }
  to->stretch = point->stretch;
  return n->count < (double)to->most_count;
}

void plag_normal_walk(const plag_normal_job *j, const plag_walk_model *model, size_t first,
                      double block_s, size_t most_count, bool renew, plag_normal *out) {
  memset(out, 0, sizeof *out);
  gathering to = {.sums = out,
                  .parameters = j->parameters,
                  .first = first,
                  .tied = j->tied,
                  .variance = j->variance,
                  .variances = 1.0,
                  .block_s = block_s,
                  .stretch = SIZE_MAX,
                  .most_count = most_count,
                  .timing = j->stretches->timing_pct2,
                  .renew = renew};
  plag_walk(j->stretches, model, gather, &to);
  take_logarithm(&to);
  if (block_s > 0.0)
    end_block(&to);
}

void plag_normal_add_curvature(const plag_normal_job *j, const plag_walk_model *model,
                               plag_normal *n) {
  const double *at = j->stretches->knot_command;
  for (size_t k = 1; k + 1 < j->stretches->knots; k++) {
    const double share = (at[k] - at[k - 1]) / (at[k + 1] - at[k - 1]);
    const double c[3] = {1.0 - share, -1.0, share};
    double off = 0.0;
    for (size_t i = 0; i < 3; i++)
      off += c[i] * model->parameter[PLAG_WALK_KNOTS + k - 1 + i];
    const double weight = 1.0 / (CURVATURE_PCT * CURVATURE_PCT);
    n->cost += 0.5 * weight * off * off;
    for (size_t i = 0; i < 3; i++) {
      const size_t row = PLAG_WALK_KNOTS + k - 1 + i;
      n->g[row] -= weight * c[i] * off;
      for (size_t m = 0; m <= i; m++)
        n->a[row][PLAG_WALK_KNOTS + k - 1 + m] += weight * c[i] * c[m];
    }
  }
}

bool plag_normal_factor(const plag_normal *n, size_t first, size_t end, double damping,
                        double *room, gsl_matrix_view *out) {
  const size_t size = end - first;
  *out = gsl_matrix_view_array(room, size, size);
  for (size_t i = 0; i < size; i++)
    for (size_t j = 0; j <= i; j++) {
      double value = n->a[first + i][first + j];
      if (!isfinite(value))
        return false;
      if (i == j)
        value += damping * value + 1e-9;
      gsl_matrix_set(&out->matrix, i, j, value);
      gsl_matrix_set(&out->matrix, j, i, value);
    }
  return gsl_linalg_cholesky_decomp1(&out->matrix) == GSL_SUCCESS;
}

bool plag_normal_solve(const plag_normal *n, size_t first, size_t end, double damping,
                       double *step) {
  double room[PLAG_WALK_PARAMETERS * PLAG_WALK_PARAMETERS];
  gsl_matrix_view a;
  if (!plag_normal_factor(n, first, end, damping, room, &a))
    return false;
  gsl_vector_const_view g = gsl_vector_const_view_array(n->g + first, end - first);
  gsl_vector_view x = gsl_vector_view_array(step + first, end - first);
  return gsl_linalg_cholesky_solve(&a.matrix, &g.vector, &x.vector) == GSL_SUCCESS;
}
