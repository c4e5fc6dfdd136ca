/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The solver reaches the certified parameters and residual sums of squares of the NIST Statistical
 * Reference Datasets for nonlinear regression to six digits, from both certified starts of each.
 * Source: https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml, public domain; the files in
 * data/nist are as published. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "model/solver.h"
#include "support/check.h"
#include "support/nist.h"

#include "platelag/platelag.h"

#define ROWS     300
#define RELATIVE 1e-6

struct set;
typedef double (*model_value)(const double *b, double x);

struct set {
  const char *name;
  model_value value;
  size_t parameters;
};

static double misra1a(const double *b, double x) {
  return b[0] * (1.0 - exp(-b[1] * x));
}
static double misra1b(const double *b, double x) {
  return b[0] * (1.0 - pow(1.0 + b[1] * x / 2.0, -2.0));
}
static double chwirut(const double *b, double x) {
  return exp(-b[0] * x) / (b[1] + b[2] * x);
}
static double danwood(const double *b, double x) {
  return b[0] * pow(x, b[1]);
}
static double cubic_ratio(const double *b, double x) {
  return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6])));
}
static double kirby(const double *b, double x) {
  return (b[0] + x * (b[1] + x * b[2])) / (1.0 + x * (b[3] + x * b[4]));
}
static double lanczos(const double *b, double x) {
  return b[0] * exp(-b[1] * x) + b[2] * exp(-b[3] * x) + b[4] * exp(-b[5] * x);
}
static double mgh09(const double *b, double x) {
  return b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]);
}
static double mgh17(const double *b, double x) {
  return b[0] + b[1] * exp(-x * b[3]) + b[2] * exp(-x * b[4]);
}
static double ratkowsky(const double *b, double x) {
  return b[0] / pow(1.0 + exp(b[1] - b[2] * x), 1.0 / b[3]);
}

static const struct set SETS[] = {
    {"BoxBOD", misra1a, 2},      {"Misra1a", misra1a, 2}, {"Misra1b", misra1b, 2},
    {"Chwirut2", chwirut, 3},    {"DanWood", danwood, 2}, {"Hahn1", cubic_ratio, 7},
    {"Thurber", cubic_ratio, 7}, {"Kirby2", kirby, 5},    {"Lanczos3", lanczos, 6},
    {"MGH09", mgh09, 4},         {"MGH17", mgh17, 5},     {"Rat43", ratkowsky, 4},
};

struct data {
  const struct set *set;
  size_t rows;
  double x[ROWS], y[ROWS];
  double start[2][PLAG_SOLVER_PARAMETERS];
  double certified[PLAG_SOLVER_PARAMETERS], deviation[PLAG_SOLVER_PARAMETERS];
  double sum_of_squares;
};

static void read_line(void *into, const char *line, bool *in_data) {
  struct data *data = into;
  double number[8];
  const char *text = line + strspn(line, " ");
  if (*in_data) {
    if (plag_test_nist_numbers(text, number, 8) == 2) {
      assert_true(data->rows < ROWS);
      data->y[data->rows] = number[0];
      data->x[data->rows++] = number[1];
    }
  } else if (text[0] == 'b' && strchr(text, '=')) {
    const size_t index = (size_t)(text[1] - '1');
    assert_int_equal(plag_test_nist_numbers(strchr(text, '=') + 1, number, 8), 4);
    assert_true(index < data->set->parameters);
    data->start[0][index] = number[0];
    data->start[1][index] = number[1];
    data->certified[index] = number[2];
    data->deviation[index] = number[3];
  } else if (strncmp(text, "Residual Sum of Squares:", 24) == 0) {
    assert_int_equal(plag_test_nist_numbers(text + 24, &data->sum_of_squares, 1), 1);
  } else if (strncmp(text, "Data:", 5) == 0 && strspn(text + 5, " ") > 1 &&
             text[5 + strspn(text + 5, " ")] == 'y') {
    *in_data = true;
  }
}

static void read_set(const struct set *set, struct data *data) {
  memset(data, 0, sizeof *data);
  data->set = set;
  plag_test_nist_read(PLATELAG_EXTERNAL_DATA "/nist", set->name, read_line, data);
  assert_true(data->rows > set->parameters);
  assert_true(data->sum_of_squares > 0.0);
}

static bool residual_of(const double *b, double *residual, void *context) {
  const struct data *data = context;
  for (size_t i = 0; i < data->rows; i++)
    residual[i] = data->set->value(b, data->x[i]) - data->y[i];
  return true;
}

static void certified_values(void **state) {
  (void)state;
  static struct data data;
  double worst = 0.0;
  for (size_t s = 0; s < sizeof SETS / sizeof *SETS; s++) {
    read_set(&SETS[s], &data);
    const plag_solver_problem problem = {
        .residuals = data.rows,
        .parameters = SETS[s].parameters,
        .residual = residual_of,
        .context = &data,
    };
    for (int start = 0; start < 2; start++) {
      plag_solver_result result;
      platelag_error error = {0};
      assert_int_equal(plag_solver_fit(&problem, data.start[start], &result, &error), PLATELAG_OK);
      print_message("%-9s start %d: %4d evaluations, sum of squares %.8g\n", SETS[s].name,
                    start + 1, result.evaluations, result.sum_of_squares);
      assert_int_equal(result.convergence, PLATELAG_CONVERGED);
      assert_close(result.sum_of_squares, data.sum_of_squares, RELATIVE, 0.0);
      for (size_t i = 0; i < SETS[s].parameters; i++) {
        worst = fmax(worst, fabs(result.parameter[i] / data.certified[i] - 1.0));
        assert_close(result.parameter[i], data.certified[i], RELATIVE, 0.0);
        assert_close(result.standard_error[i], data.deviation[i], 1e-4, 0.0);
      }
    }
  }
  print_message("worst parameter: off by %.1e of itself\n", worst);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(certified_values)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
