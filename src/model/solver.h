/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Nonlinear least squares over gsl_multifit_nlinear. The residuals are finite or the fit does not
 * begin; whether it settled is judged by gradient, step and covariance, never by GSL's word alone:
 * a flat signal "fits". */
#ifndef PLAG_MODEL_SOLVER_H
#define PLAG_MODEL_SOLVER_H

#include "platelag/fit.h"

#define PLAG_SOLVER_PARAMETERS 16

/* Minimise the sum of squares of `residuals` functions of `parameters` numbers. */
typedef struct plag_solver_problem {
  size_t residuals;
  size_t parameters; /* at most PLAG_SOLVER_PARAMETERS */
  /* Fills `residual`; false where the model is not defined there (the solver then steps back). */
  bool (*residual)(const double *parameter, double *residual, void *context);
  /* Fills `jacobian`, a row of `parameters` derivatives a residual; NULL: central differences. */
  bool (*jacobian)(const double *parameter, double *jacobian, void *context);
  void *context;
} plag_solver_problem;

typedef struct plag_solver_result {
  /* NOT_IDENTIFIABLE: settled, covariance is singular; NO_DATA: too few, or not finite at start. */
  platelag_convergence convergence;
  double parameter[PLAG_SOLVER_PARAMETERS];
  double standard_error[PLAG_SOLVER_PARAMETERS]; /* NaN unless converged */
  double sum_of_squares;
  size_t degrees_of_freedom;
  int evaluations;
} plag_solver_result;

/* Fits from `start`. Methods are tried in turn (Levenberg-Marquardt, the same with geodesic
 * acceleration, other scalings) until one settles on an identifiable minimum; otherwise the lowest
 * sum of squares is told with why. Trust region: J. More, "The Levenberg-Marquardt algorithm",
 * Lecture Notes in Mathematics 630 (1978); geodesic acceleration: M. Transtrum, J. Sethna,
 * arXiv:1201.5885. Fails only without memory. */
platelag_status plag_solver_fit(const plag_solver_problem *problem, const double *start,
                                plag_solver_result *out, platelag_error *error);

#endif
