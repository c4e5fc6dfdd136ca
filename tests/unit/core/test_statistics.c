/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order statistics agree with sorting. */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/statistics.h"

static int by_value(const void *a, const void *b) {
  const double left = *(const double *)a;
  const double right = *(const double *)b;
  return (left > right) - (left < right);
}

static double quantile_by_sorting(const double *value, size_t count, double share) {
  double sorted[64];
  memcpy(sorted, value, count * sizeof sorted[0]);
  qsort(sorted, count, sizeof sorted[0], by_value);
  const double place = share * (double)(count - 1);
  const size_t rank = (size_t)place;
  if (rank + 1 >= count)
    return sorted[count - 1];
  return sorted[rank] + (place - (double)rank) * (sorted[rank + 1] - sorted[rank]);
}

static void quantiles_agree_with_sorting(void **state) {
  (void)state;
  srand(20260417);
  for (int round = 0; round < 3000; round++) {
    double value[64];
    const size_t count = 1 + (size_t)(rand() % 64);
    for (size_t i = 0; i < count; i++)
      value[i] = (double)(rand() % 23) * 0.317; /* many ties */
    const double share = (double)(rand() % 101) / 100.0;
    const double expected = quantile_by_sorting(value, count, share);
    assert_close(plag_quantile(value, count, share), expected, 0, 1e-12);
  }
}

static void nothing_has_no_median(void **state) {
  (void)state;
  assert_true(isnan(plag_median(NULL, 0)));
  assert_true(isnan(plag_median_deviation(NULL, 0)));
}

/* R 4.2, MASS::chem: 24 determinations of copper in wholemeal flour; median 3.385, mad 0.526323. */
static void matches_a_published_median_and_deviation(void **state) {
  (void)state;
  const double chem[] = {2.9,  3.1,  3.4,  3.4,  3.7,   3.7,  2.8, 2.5, 2.4, 2.4, 2.7, 2.2,
                         5.28, 3.37, 3.03, 3.03, 28.95, 3.77, 3.4, 2.2, 3.5, 3.6, 3.7, 3.7};
  double copy[24];
  memcpy(copy, chem, sizeof chem);
  assert_close(plag_median(copy, 24), 3.385, 0, 1e-12);
  memcpy(copy, chem, sizeof chem);
  assert_close(plag_median_deviation(copy, 24), 0.526323, 1e-6, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(quantiles_agree_with_sorting),
      cmocka_unit_test(nothing_has_no_median),
      cmocka_unit_test(matches_a_published_median_and_deviation),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
