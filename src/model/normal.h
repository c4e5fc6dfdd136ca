/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Normal equations of the response over stretches of the record, gathered in one walk: nothing of
 * the size of the record is stored but one weight a reading. */
#ifndef PLAG_MODEL_NORMAL_H
#define PLAG_MODEL_NORMAL_H

#include <gsl/gsl_matrix.h>

#include "model/walk.h"

/* Sums over one walk. */
typedef struct plag_normal {
  double a[PLAG_WALK_PARAMETERS][PLAG_WALK_PARAMETERS];
  double g[PLAG_WALK_PARAMETERS];
  double cost; /* robust sum of squares over variances, halved, plus half the log variances */
  double chi2; /* of readings, robust */
  double count;
  double products; /* of successive standardised residuals */
  double block[PLAG_WALK_PARAMETERS], meat[PLAG_WALK_PARAMETERS][PLAG_WALK_PARAMETERS];
  size_t blocks;
} plag_normal;

/* What is fitted, and how readings are weighed. */
typedef struct plag_normal_job {
  const plag_stretches *stretches;
  double noise_pct;
  double variance; /* of a reading */
  bool tied;
  size_t parameters;
} plag_normal_job;

/* Walks over the record. Parameters before `first` stay as they are. `block_s`: readings that long
 * are summed up together for `meat` (0: none). `most_count`: readings at most. `renew`: timing
 * variances are taken from this walk, else they are as the last walk left them, so that costs
 * compare. */
void plag_normal_walk(const plag_normal_job *j, const plag_walk_model *model, size_t first,
                      double block_s, size_t most_count, bool renew, plag_normal *out);

/* A knot between others is where the line between them is, unless the data say otherwise. */
void plag_normal_add_curvature(const plag_normal_job *j, const plag_walk_model *model,
                               plag_normal *n);

/* Cholesky factor of parameters `first` up to `end`, the diagonal raised by `damping` of itself,
 * in `room` of (end - first)^2 numbers. False when it is not positive definite. */
bool plag_normal_factor(const plag_normal *n, size_t first, size_t end, double damping,
                        double *room, gsl_matrix_view *out);

/* The step to the minimum; false likewise. */
bool plag_normal_solve(const plag_normal *n, size_t first, size_t end, double damping,
                       double *step);

#endif
