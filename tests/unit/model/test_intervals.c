/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Intervals of a value with Student's error: from a cloud as from the distribution itself, alike on
 * both sides, also of a logarithm that is hardly known. Quantiles: SciPy 1.10.1, stats.t.ppf. */
#include <math.h>

#include "model/intervals.h"
#include "support/check.h"

static const struct student {
  double degrees, at_90, at_95;
} STUDENTS[] = {
    {5.0, 1.475884048782, 2.015048372669},
    {9.0, 1.383028738396, 1.833112932654},
    {30.0, 1.310415022567, 1.697260894362},
    {200.0, 1.285798793995, 1.652508100910},
};

enum { STUDENT_COUNT = sizeof STUDENTS / sizeof STUDENTS[0] };

static void a_cloud_has_the_quantiles_of_its_distribution(void **state) {
  static plag_cloud cloud;
  const double centre = 3.137;
  const double sd = 0.418;
  (void)state;
  for (int k = 0; k < STUDENT_COUNT; k++) {
    const struct student *t = &STUDENTS[k];
    plag_cloud_from_normal(&cloud, centre, sd, t->degrees);
    assert_close(plag_cloud_quantile(&cloud, 0.05), centre - t->at_95 * sd, 0, 0.0015 * sd);
    assert_close(plag_cloud_quantile(&cloud, 0.5), centre, 0, 1e-9 * sd);
    assert_close(plag_cloud_quantile(&cloud, 0.9), centre + t->at_90 * sd, 0, 0.0015 * sd);
    assert_close(plag_cloud_quantile(&cloud, 0.95), centre + t->at_95 * sd, 0, 0.0015 * sd);
  }
}

static void a_logarithm_has_them_however_little_is_known(void **state) {
  static const double log_sds[] = {0.087, 0.64, 2.81};
  (void)state;
  for (int k = 0; k < STUDENT_COUNT; k++)
    for (size_t i = 0; i < sizeof log_sds / sizeof log_sds[0]; i++) {
      const double factor = exp(STUDENTS[k].at_95 * log_sds[i]);
      const platelag_estimate told = plag_estimate_of_log(0.0203, log_sds[i], STUDENTS[k].degrees);
      assert_int_equal(told.known, PLATELAG_KNOWN_VALUE);
      assert_close(told.value, 0.0203, 1e-12, 0);
      assert_close(told.low, 0.0203 / factor, 1e-6, 0);
      assert_close(told.high, 0.0203 * factor, 1e-6, 0);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_cloud_has_the_quantiles_of_its_distribution),
      cmocka_unit_test(a_logarithm_has_them_however_little_is_known),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
