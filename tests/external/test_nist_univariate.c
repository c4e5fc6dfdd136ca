/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Mean and spread of a family of vehicles, which logs are shrunken towards, are the certified mean
 * and standard deviation of the NIST Statistical Reference Datasets for univariate statistics,
 * from https://www.itl.nist.gov/div898/strd/univ/homepage.html, public domain. Data in
 * data/nist_univariate, numbers as in the GSL's own tests; NumAcc2 to 4 are made by their
 * definition. Median, deviation from it and quantiles: 24 copper determinations (R MASS::chem,
 * median 3.385, deviation 0.526323). */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/statistics.h"
#include "fleet/shrink.h"
#include "support/check.h"
#include "support/nist.h"

enum { MOST = 5000 };

struct set {
  const char *name;
  double middle;     /* of those that are made: the first value, then pairs ... */
  double half;       /* ... so far below and above it; 0: read from a file */
  double mean_error; /* allowed, relative */
  double deviation_error;
};

/* What a deviation can be told to is what rounding leaves of the values: 1e-16 of the mean. */
static const struct set SETS[] = {
    {"Lew", 0, 0, 1e-13, 1e-12},
    {"Lottery", 0, 0, 1e-13, 1e-12},
    {"Mavro", 0, 0, 1e-13, 1e-9},
    {"Michelso", 0, 0, 1e-13, 1e-9},
    {"PiDigits", 0, 0, 1e-13, 1e-12},
    {"NumAcc1", 0, 0, 1e-14, 1e-8},
    {"NumAcc2", 1.2, 0.1, 1e-13, 1e-12},
    {"NumAcc3", 1000000.2, 0.1, 1e-14, 1e-8},
    {"NumAcc4", 10000000.2, 0.1, 1e-14, 1e-7},
};

struct data {
  size_t count;
  double mean, deviation; /* certified */
  double value[MOST];
};

static size_t read_numbers(const char *path, double *number) {
  char whole[512];
  char line[256];
  size_t count = 0;
  (void)snprintf(whole, sizeof whole, "%s/%s", PLATELAG_EXTERNAL_DATA, path);
  FILE *file = fopen(whole, "r");
  assert_non_null(file);
  while (fgets(line, sizeof line, file))
    if (line[0] != '#')
      count += plag_test_nist_numbers(line, number + count, MOST + 4 - count);
  (void)fclose(file);
  assert_true(count < MOST + 4);
  return count;
}

static void read_set(const struct set *set, struct data *data) {
  static double number[MOST + 4];
  char path[64];
  (void)snprintf(path, sizeof path, "nist_univariate/%s.dat", set->name);
  const size_t count = read_numbers(path, number);
  data->count = (size_t)number[0];
  data->mean = number[1];
  data->deviation = number[2];
  assert_int_equal(count, data->count + 3);
  memcpy(data->value, &number[3], data->count * sizeof number[0]);
}

static void make_set(const struct set *set, struct data *data) {
  data->count = 1001;
  data->mean = set->middle;
  data->deviation = set->half;
  data->value[0] = set->middle;
  for (size_t i = 1; i < data->count; i++)
    data->value[i] = i % 2 == 1 ? set->middle - set->half : set->middle + set->half;
}

/* Of vehicles with alike variances v the family's spread is what their own has above it, s^2 - v,
 * so that the share by which values keep off the mean is (s^2 - v) / s^2. Two outcomes tell it and
 * the mean. */
static void told_by_shrinkage(const struct data *data, double *mean, double *deviation) {
  static double value[MOST];
  static double variance[MOST];
  const double known = 0.37 * data->deviation * data->deviation;
  size_t low = 0;
  size_t high = 0;
  memcpy(value, data->value, data->count * sizeof value[0]);
  for (size_t i = 0; i < data->count; i++) {
    variance[i] = known;
    low = value[i] < value[low] ? i : low;
    high = value[i] > value[high] ? i : high;
  }
  plag_shrink(value, variance, data->count);
  const double share = (value[high] - value[low]) / (data->value[high] - data->value[low]);
  *deviation = sqrt(known / (1.0 - share));
  *mean = data->value[low] + (value[low] - data->value[low]) / (1.0 - share);
}

static void certified_mean_and_deviation(void **state) {
  (void)state;
  static struct data data;
  for (size_t s = 0; s < sizeof SETS / sizeof *SETS; s++) {
    double mean;
    double deviation;
    if (SETS[s].half > 0)
      make_set(&SETS[s], &data);
    else
      read_set(&SETS[s], &data);
    told_by_shrinkage(&data, &mean, &deviation);
    print_message("%-9s mean off by %.1e, deviation by %.1e of itself\n", SETS[s].name,
                  fabs(mean / data.mean - 1), fabs(deviation / data.deviation - 1));
    assert_close(mean, data.mean, SETS[s].mean_error, 0);
    assert_close(deviation, data.deviation, SETS[s].deviation_error, 0);
  }
}

/* Quantiles by R (type 7, its default), deviation by its mad(). */
static void robust_statistics_of_copper(void **state) {
  (void)state;
  static const struct {
    double share, quantile;
  } rows[] = {{0, 2.2},     {0.05, 2.23}, {0.25, 2.775},  {0.37, 3.03},
              {0.5, 3.385}, {0.75, 3.7},  {0.95, 5.0535}, {1, 28.95}};
  double copper[MOST + 4];
  double value[64];
  const size_t count = read_numbers("robust/chem.csv", copper);
  assert_int_equal(count, 24);
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    memcpy(value, copper, count * sizeof value[0]);
    assert_close(plag_quantile(value, count, rows[i].share), rows[i].quantile, 1e-12, 0);
  }
  memcpy(value, copper, count * sizeof value[0]);
  assert_close(plag_median(value, count), 3.385, 1e-12, 0);
  assert_close(plag_median_deviation(value, count), 0.526323, 1e-12, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(certified_mean_and_deviation),
      cmocka_unit_test(robust_statistics_of_copper),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
