/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The solver reaches the certified coefficients of the NIST Statistical Reference Datasets for
 * linear regression, given the derivatives and without them. Source:
 * https://www.itl.nist.gov/div898/strd/lls/lls.shtml, public domain; the files in data/nist_linear
 * are as published, from Debian's gretl-data, blanks at line ends off. Left out: Filip, a tenth
 * power whose coefficients double precision cannot tell by least squares on residuals. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "model/solver.h"
#include "support/check.h"
#include "support/nist.h"

#include "platelag/platelag.h"

enum { ROWS = 64, COLUMNS = 7 };
#define EXACT 1e-8 /* with derivatives: of the larger of the value and its standard error */

struct set {
  const char *name;
  size_t parameters;
  size_t least_power; /* 1: no constant */
  bool columns;       /* a column of the file a parameter, not a power of one */
  double differences; /* allowed without derivatives, as EXACT */
};

static const struct set SETS[] = {
    {"Norris", 2, 0, false, 1e-8},   {"Pontius", 3, 0, false, 1e-8},
    {"NoInt1", 1, 1, false, 1e-8},   {"NoInt2", 1, 1, false, 1e-8},
    {"Wampler1", 6, 0, false, 1e-6}, {"Wampler2", 6, 0, false, 1e-6},
    {"Wampler3", 6, 0, false, 1e-4}, {"Wampler4", 6, 0, false, 1e-4},
    {"Wampler5", 6, 0, false, 1e-4}, {"Longley", 7, 0, true, 1e-4},
};

struct data {
  const struct set *set;
  size_t rows;
  double y[ROWS], regressor[ROWS][COLUMNS];
  double certified[COLUMNS], deviation[COLUMNS];
  double residual_deviation;
};

static void add_row(struct data *data, const double *number) {
  const struct set *set = data->set;
  double *regressor = data->regressor[data->rows];
  assert_true(data->rows < ROWS);
  data->y[data->rows++] = number[0];
  for (size_t k = 0; k < set->parameters; k++)
    regressor[k] =
        set->columns ? (k == 0 ? 1.0 : number[k]) : pow(number[1], (double)(k + set->least_power));
}

static void read_line(void *into, const char *line, bool *in_data) {
  struct data *data = into;
  const size_t cells = data->set->columns ? data->set->parameters : 2;
  const char *text = line + strspn(line, " ");
  double number[COLUMNS + 1];
  if (*in_data) {
    if (plag_test_nist_numbers(text, number, COLUMNS + 1) == cells)
      add_row(data, number);
  } else if (text[0] == 'B' && text[1] >= '0' && text[1] <= '9' && text[2] == ' ') {
    const size_t index = (size_t)(text[1] - '0') - data->set->least_power;
    assert_true(index < data->set->parameters);
    assert_int_equal(plag_test_nist_numbers(text + 2, number, 3), 2);
    data->certified[index] = number[0];
    data->deviation[index] = number[1];
  } else if (strncmp(text, "Standard Deviation ", 19) == 0) {
    (void)plag_test_nist_numbers(text + 19, &data->residual_deviation, 1);
  } else if (strncmp(text, "Data:", 5) == 0 && text[5 + strspn(text + 5, " ")] == 'y') {
    *in_data = true;
  }
}

static void read_set(const struct set *set, struct data *data) {
  memset(data, 0, sizeof *data);
  data->set = set;
  data->residual_deviation = NAN;
  plag_test_nist_read(PLATELAG_EXTERNAL_DATA "/nist_linear", set->name, read_line, data);
  assert_true(data->rows > set->parameters || set->parameters == 1);
  assert_true(data->residual_deviation >= 0);
}

static bool residual_of(const double *b, double *residual, void *context) {
  const struct data *data = context;
  for (size_t i = 0; i < data->rows; i++) {
    residual[i] = -data->y[i];
    for (size_t k = 0; k < data->set->parameters; k++)
      residual[i] += b[k] * data->regressor[i][k];
  }
  return true;
}

static bool jacobian_of(const double *b, double *jacobian, void *context) {
  const struct data *data = context;
  const size_t columns = data->set->parameters;
  (void)b;
  for (size_t i = 0; i < data->rows; i++)
    memcpy(&jacobian[i * columns], data->regressor[i], columns * sizeof *jacobian);
  return true;
}

static double assert_certified(const struct data *data, const plag_solver_result *result,
                               double relative) {
  const struct set *set = data->set;
  double worst = 0.0;
  for (size_t k = 0; k < set->parameters; k++) {
    const double scale = fmax(data->deviation[k], fabs(data->certified[k]));
    worst = fmax(worst, fabs(result->parameter[k] - data->certified[k]) / scale);
    assert_close(result->parameter[k], data->certified[k], 0, relative * scale);
    assert_close(result->standard_error[k], data->deviation[k], 1e-4, 1e-9 * scale);
  }
  const double degrees = (double)(data->rows - set->parameters);
  assert_close(sqrt(result->sum_of_squares / degrees), data->residual_deviation, 1e-8,
               1e-9 * fabs(data->y[data->rows - 1]));
  return worst;
}

static void certified_coefficients(void **state) {
  (void)state;
  static struct data data;
  for (size_t s = 0; s < sizeof SETS / sizeof *SETS; s++) {
    read_set(&SETS[s], &data);
    for (int given = 0; given < 2; given++) {
      const plag_solver_problem problem = {
          .residuals = data.rows,
          .parameters = SETS[s].parameters,
          .residual = residual_of,
          .jacobian = given ? jacobian_of : NULL,
          .context = &data,
      };
      double start[COLUMNS] = {0};
      plag_solver_result result;
      platelag_error error = {0};
      assert_int_equal(plag_solver_fit(&problem, start, &result, &error), PLATELAG_OK);
      assert_int_equal(result.convergence, PLATELAG_CONVERGED);
      print_message("%-9s %s: %d evaluations, off by %.1e\n", SETS[s].name,
                    given ? "derivatives" : "differences", result.evaluations,
                    assert_certified(&data, &result, given ? EXACT : SETS[s].differences));
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(certified_coefficients)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
