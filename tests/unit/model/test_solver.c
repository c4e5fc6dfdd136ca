/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The solver says what became of a fit: settled, not identifiable, no data, diverged; a flat signal
 * is not "fitted". */
#include <math.h>

#include "model/solver.h"
#include "support/check.h"

#include "platelag/platelag.h"

#define ROWS 23

/* y = gain (1 - exp(-rate x)) on exact data of `gain`, and what may be wrong with them. */
struct record {
  double gain;
  double spoil; /* put in place of the seventh value; 0: none */
  size_t rows;
  double start[2];
  platelag_convergence expected;
};

static const struct record RECORDS[] = {
    {38.61, 0.0, ROWS, {21.3, 0.9}, PLATELAG_CONVERGED},
    {0.0, 0.0, ROWS, {0.0, 0.73}, PLATELAG_NOT_IDENTIFIABLE},
    {38.61, NAN, ROWS, {21.3, 0.9}, PLATELAG_NO_DATA},
    {38.61, 0.0, 2, {21.3, 0.9}, PLATELAG_NO_DATA},
    {38.61, 0.0, ROWS, {NAN, 0.9}, PLATELAG_NO_DATA},
};

static bool residual_of(const double *b, double *residual, void *context) {
  const struct record *record = context;
  for (size_t i = 0; i < record->rows; i++) {
    const double x = 0.217 * (double)i;
    const double noise = record->gain * 1e-3 * sin(7.31 * (double)(i * i));
    double y = record->gain * (1.0 - exp(-1.37 * x)) + noise;
    if (i == 6 && record->spoil != 0.0)
      y = record->spoil;
    residual[i] = b[0] * (1.0 - exp(-b[1] * x)) - y;
  }
  return true;
}

static bool jacobian_of(const double *b, double *jacobian, void *context) {
  const struct record *record = context;
  for (size_t i = 0; i < record->rows; i++) {
    const double x = 0.217 * (double)i;
    jacobian[2 * i] = 1.0 - exp(-b[1] * x);
    jacobian[2 * i + 1] = b[0] * x * exp(-b[1] * x);
  }
  return true;
}

static void tells_what_became_of_it(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof RECORDS / sizeof *RECORDS; i++) {
    for (int given = 0; given < 2; given++) {
      struct record record = RECORDS[i];
      const plag_solver_problem problem = {
          .residuals = record.rows,
          .parameters = 2,
          .residual = residual_of,
          .jacobian = given ? jacobian_of : NULL,
          .context = &record,
      };
      plag_solver_result result;
      platelag_error error = {0};
      print_message("record %zu, jacobian %s\n", i, given ? "given" : "by differences");
      assert_int_equal(plag_solver_fit(&problem, record.start, &result, &error), PLATELAG_OK);
      assert_int_equal(result.convergence, record.expected);
      if (record.expected != PLATELAG_CONVERGED)
        continue;
      assert_close(result.parameter[0], 38.61, 2e-3, 0.0);
      assert_close(result.parameter[1], 1.37, 5e-3, 0.0);
      assert_between(result.standard_error[1], 1e-5, 1e-2);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(tells_what_became_of_it)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
