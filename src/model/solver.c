/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/solver.h"

#include <assert.h>
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"

#define ITERATIONS         400
#define STEP_TOLERANCE     1e-12
#define GRADIENT_TOLERANCE 1e-14
/* Cube root of the double's epsilon: truncation and rounding of a central difference balance. */
#define DIFFERENCE_STEP 6.06e-6
#define FORBIDDEN       1e100
/* A standard error so large beside its parameter, while others are known, means a singular
 * covariance: the square root of what double arithmetic leaves of a condition number. */
#define SINGULAR_RATIO 1e-7

enum { STEP_SMALL = 1, GRADIENT_SMALL = 2 }; /* what gsl_multifit_nlinear_test tells */

struct method {
  const gsl_multifit_nlinear_trs *const *trust_region;
  const gsl_multifit_nlinear_scale *const *scale;
};

/* Order by what solves most problems first; the certified sets decide. */
static const struct method METHODS[] = {
    {&gsl_multifit_nlinear_trs_lm, &gsl_multifit_nlinear_scale_more},
    {&gsl_multifit_nlinear_trs_lmaccel, &gsl_multifit_nlinear_scale_more},
    {&gsl_multifit_nlinear_trs_lm, &gsl_multifit_nlinear_scale_marquardt},
    {&gsl_multifit_nlinear_trs_lmaccel, &gsl_multifit_nlinear_scale_marquardt},
    {&gsl_multifit_nlinear_trs_lm, &gsl_multifit_nlinear_scale_levenberg},
};

static int all_finite(const double *value, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (!isfinite(value[i]))
      return 0;
  return 1;
}

/* What GSL carries for us. Its difference scheme hands out columns of a matrix for the residuals,
 * so they are computed in a row of our own. */
struct system {
  const plag_solver_problem *problem;
  double *residual;
};

static int evaluate(const gsl_vector *x, void *context, gsl_vector *f) {
  const struct system *system = context;
  const plag_solver_problem *problem = system->problem;
  double parameter[PLAG_SOLVER_PARAMETERS];
  for (size_t i = 0; i < problem->parameters; i++)
    parameter[i] = gsl_vector_get(x, i);
  const bool defined = problem->residual(parameter, system->residual, problem->context) &&
                       all_finite(system->residual, problem->residuals);
  /* An error would end the fit; a huge residual makes it step back. */
  for (size_t i = 0; i < problem->residuals; i++)
    gsl_vector_set(f, i, defined ? system->residual[i] : FORBIDDEN);
  return GSL_SUCCESS;
}

static int differentiate(const gsl_vector *x, void *context, gsl_matrix *jacobian) {
  const plag_solver_problem *problem = ((const struct system *)context)->problem;
  double parameter[PLAG_SOLVER_PARAMETERS];
  for (size_t i = 0; i < problem->parameters; i++)
    parameter[i] = gsl_vector_get(x, i);
  if (!problem->jacobian(parameter, jacobian->data, problem->context))
    return GSL_EDOM;
  return all_finite(jacobian->data, problem->residuals * problem->parameters) ? GSL_SUCCESS
                                                                              : GSL_EDOM;
}

/* Iterates until the step is at the limit of double arithmetic, or no step lowers the sum. */
static bool iterate(gsl_multifit_nlinear_workspace *work) {
  for (int i = 0; i < ITERATIONS; i++) {
    if (gsl_blas_dnrm2(gsl_multifit_nlinear_residual(work)) <= 0.0)
      return true; /* nothing is left to lower, and no step to be had */
    const int status = gsl_multifit_nlinear_iterate(work);
    int info = 0;
    (void)gsl_multifit_nlinear_test(STEP_TOLERANCE, GRADIENT_TOLERANCE, 0.0, &info, work);
    if (status == GSL_ENOPROG && (i > 0 || info == GRADIENT_SMALL))
      return true;
    if (status != GSL_SUCCESS)
      return false;
    if (info == STEP_SMALL)
      return true;
  }
  return false;
}

/* Standard errors from the covariance of the scaled Jacobian; false when it is singular. */
static bool find_errors(gsl_multifit_nlinear_workspace *work, gsl_matrix *covariance,
                        plag_solver_result *out) {
  gsl_matrix *jacobian = gsl_multifit_nlinear_jac(work);
  double norm[PLAG_SOLVER_PARAMETERS];
  bool sound = out->degrees_of_freedom > 0;
  for (size_t j = 0; j < jacobian->size2; j++) {
    gsl_vector_view column = gsl_matrix_column(jacobian, j);
    norm[j] = gsl_blas_dnrm2(&column.vector);
    if (!(norm[j] > 0.0))
      return false;
  }
  if (gsl_multifit_nlinear_covar(jacobian, 0.0, covariance) != GSL_SUCCESS)
    return false;
  const double variance = out->sum_of_squares / (double)out->degrees_of_freedom;
  for (size_t j = 0; j < jacobian->size2; j++) {
    const double scaled = gsl_matrix_get(covariance, j, j);
    out->standard_error[j] = sqrt(scaled * variance);
    /* norm * sqrt(scaled) is 1 for a parameter independent of the rest. */
    if (!isfinite(scaled) || scaled <= 0.0 || norm[j] * sqrt(scaled) * SINGULAR_RATIO > 1.0)
      sound = false;
  }
  return sound;
}

static void run_method(const struct system *carried, const gsl_vector *start,
                       gsl_multifit_nlinear_workspace *work, gsl_matrix *covariance,
                       plag_solver_result *out) {
  const plag_solver_problem *problem = carried->problem;
  gsl_multifit_nlinear_fdf system = {
      .f = evaluate,
      .df = problem->jacobian ? differentiate : NULL,
      .n = problem->residuals,
      .p = problem->parameters,
      .params = (void *)carried,
  };
  if (gsl_multifit_nlinear_init(start, &system, work) != GSL_SUCCESS)
    return;
  const bool settled = iterate(work);
  const gsl_vector *position = gsl_multifit_nlinear_position(work);
  const gsl_vector *residual = gsl_multifit_nlinear_residual(work);
  for (size_t i = 0; i < problem->parameters; i++) {
    out->parameter[i] = gsl_vector_get(position, i);
    out->standard_error[i] = NAN;
  }
  (void)gsl_blas_ddot(residual, residual, &out->sum_of_squares);
  out->evaluations += (int)system.nevalf;
  const bool sound = isfinite(out->sum_of_squares) && find_errors(work, covariance, out);
  if (!settled)
    out->convergence = PLATELAG_DIVERGED;
  else
    out->convergence = sound ? PLATELAG_CONVERGED : PLATELAG_NOT_IDENTIFIABLE;
}

static bool better(const plag_solver_result *one, const plag_solver_result *other) {
  if (one->convergence != other->convergence) {
    if (one->convergence == PLATELAG_CONVERGED)
      return true;
    if (other->convergence == PLATELAG_CONVERGED)
      return false;
  }
  return one->sum_of_squares < other->sum_of_squares;
}

static void blank(plag_solver_result *result, const plag_solver_problem *problem,
                  const double *start) {
  memset(result, 0, sizeof *result);
  result->convergence = PLATELAG_DIVERGED;
  result->sum_of_squares = INFINITY;
  result->degrees_of_freedom = problem->residuals - problem->parameters;
  for (size_t i = 0; i < problem->parameters; i++) {
    result->parameter[i] = start[i];
    result->standard_error[i] = NAN;
  }
}

platelag_status plag_solver_fit(const plag_solver_problem *problem, const double *start,
                                plag_solver_result *out, platelag_error *error) {
  assert(problem->parameters > 0 && problem->parameters <= PLAG_SOLVER_PARAMETERS);
  platelag_status status = PLATELAG_OK;
  gsl_multifit_nlinear_workspace *work = NULL;
  if (problem->residuals <= problem->parameters || !all_finite(start, problem->parameters)) {
    memset(out, 0, sizeof *out);
    out->convergence = PLATELAG_NO_DATA;
    out->sum_of_squares = NAN;
    return PLATELAG_OK;
  }
  blank(out, problem, start);
  struct system carried = {problem, calloc(problem->residuals, sizeof(double))};
  gsl_matrix *covariance = gsl_matrix_alloc(problem->parameters, problem->parameters);
  if (!covariance || !carried.residual) {
    status = plag_error_memory(error, "a fit");
    goto done;
  }
  if (!problem->residual(start, carried.residual, problem->context) ||
      !all_finite(carried.residual, problem->residuals)) {
    out->convergence = PLATELAG_NO_DATA;
    goto done;
  }
  const gsl_vector_const_view first = gsl_vector_const_view_array(start, problem->parameters);
  for (size_t i = 0; i < sizeof METHODS / sizeof *METHODS; i++) {
    gsl_multifit_nlinear_parameters settings = gsl_multifit_nlinear_default_parameters();
    settings.trs = *METHODS[i].trust_region;
    settings.scale = *METHODS[i].scale;
    settings.solver = gsl_multifit_nlinear_solver_qr;
    settings.fdtype = GSL_MULTIFIT_NLINEAR_CTRDIFF;
    settings.h_df = DIFFERENCE_STEP;
    work = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &settings, problem->residuals,
                                      problem->parameters);
    if (!work) {
      status = plag_error_memory(error, "a fit");
      goto done;
    }
    plag_solver_result result;
    blank(&result, problem, start);
    run_method(&carried, &first.vector, work, covariance, &result);
    result.evaluations += out->evaluations;
    if (better(&result, out))
      *out = result;
    else
      out->evaluations = result.evaluations;
    gsl_multifit_nlinear_free(work);
    work = NULL;
    if (out->convergence == PLATELAG_CONVERGED)
      break;
  }
done:
  gsl_multifit_nlinear_free(work);
  gsl_matrix_free(covariance);
  free(carried.residual);
  return status;
}
