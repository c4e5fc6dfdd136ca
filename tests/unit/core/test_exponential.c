/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The quick exponential is the mathematics library's within 3e-15, from one end of its range to the
 * other and at the joints of its table, and the same where it leaves the work to it; the logarithm
 * within 3e-11, Mills' ratio within 1 in 1e7. */
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

static void test_logarithm(void **state) {
  (void)state;
  for (double x = -690.03; x < 690.0; x += 0.010713)
    assert_close(plag_log(exp(x)), log(exp(x)), 0.0, 3e-11);
  for (double x = 0.70703; x < 1.41427; x += 1.37e-6)
    assert_close(plag_log(x), log(x), 0.0, 3e-11);
  static const double joints[] = {0.5, M_SQRT1_2, 1.0, M_SQRT2, 2.0, 0x1p-1022, 0x1p1023};
  for (size_t i = 0; i < sizeof joints / sizeof joints[0]; i++)
    assert_close(plag_log(joints[i]), log(joints[i]), 0.0, 3e-11);
}

/* Against the complementary error function, and far out against the asymptotic series. */
static void test_mills(void **state) {
  (void)state;
  for (double z = 0.0; z < 26.0; z += 0.00371) {
    const double height = exp(-0.5 * z * z) / sqrt(2.0 * M_PI);
    assert_close(plag_mills(z), 0.5 * erfc(z * M_SQRT1_2) / height, 1e-7, 0.0);
  }
  for (double z = 26.0; z < 1e6; z *= 1.0137) {
    const double u = 1.0 / (z * z);
    assert_close(plag_mills(z), (1.0 - u * (1.0 - u * (3.0 - 15.0 * u))) / z, 1e-7, 0.0);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_sweeps),    cmocka_unit_test(test_joints), cmocka_unit_test(test_ends),
      cmocka_unit_test(test_logarithm), cmocka_unit_test(test_mills),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
