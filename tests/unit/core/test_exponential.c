/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The quick exponential is the mathematics library's within 3e-15, from one end of its range to the
 * other and at the joints of its table, and the same where it leaves the work to it. */
#include "support/check.h"

#include <math.h>

#include "core/exponential.h"

typedef struct sweep {
  double from, to, step;
} sweep;

static const sweep sweeps[] = {
    {-699.93, 699.97, 0.013711}, {-0.02937, 0.02911, 1.7e-7}, {-45.93, 0.0, 0.000737}};

static void test_sweeps(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof sweeps / sizeof sweeps[0]; i++)
    for (double x = sweeps[i].from; x <= sweeps[i].to; x += sweeps[i].step)
      assert_close(plag_exp(x), exp(x), 3e-15, 0.0);
}

static void test_joints(void **state) {
  (void)state;
  for (int k = -1283; k <= 1291; k++) {
    const double joint = (k + 0.5) * M_LN2 / 32.0;
    const double around[] = {nextafter(joint, -INFINITY), joint, nextafter(joint, INFINITY)};
    for (size_t i = 0; i < 3; i++)
      assert_close(plag_exp(around[i]), exp(around[i]), 3e-15, 0.0);
  }
}

static void test_ends(void **state) {
  (void)state;
  static const double ends[] = {0.0, -0.0, -INFINITY, INFINITY, -745.3, 709.93, -708.41, 701.7};
  for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++)
    assert_close(plag_exp(ends[i]), exp(ends[i]), 3e-15, 0.0);
  assert_true(isnan(plag_exp(NAN)));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_sweeps),
      cmocka_unit_test(test_joints),
      cmocka_unit_test(test_ends),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
