/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Densities are densities: they add up to 1 over all that can be seen, so that hypotheses compare.
 */
#include "support/check.h"

#include <math.h>

#include "judge/density.h"

#define POINTS 200000

static double integral(double from, double to, double (*log_density)(double x)) {
  double sum = 0;
  for (int i = 0; i < POINTS; i++)
    sum += exp(log_density(from + (to - from) * (i + 0.5) / POINTS));
  return sum * (to - from) / POINTS;
}

static double level(double x) {
  return plag_density_level(x, 12, (plag_level){93, 1.7}, 0.01);
}
static double spread(double x) {
  return plag_density_spread(x, 40, 5.3);
}
static double share(double x) {
  return plag_density_proportion(x, (plag_proportion){0.83, 7.1});
}

static void continuous_densities_integrate_to_one(void **state) {
  (void)state;
  assert_close(integral(87, 99, level), 1, 0, 2e-3);
  assert_close(integral(0, 40, spread), 1, 0, 2e-3);
  assert_close(integral(0, 1, share), 1, 0, 5e-3);
}

static void counts_add_up_to_one(void **state) {
  (void)state;
  static const struct {
    double exposure, background;
    plag_rate expected;
  } row[] = {{9.7, 0.01, {3, 0.6}}, {93, 0.002, {0.003, 1}}, {17.3, 0.01, {0, 0}}};
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    double sum = 0;
    for (int n = 0; n < 5000; n++)
      sum += exp(plag_density_count(n, row[i].exposure, row[i].expected, row[i].background));
    assert_close(sum, 1, 0, 1e-3);
  }
}

static void chances_add_up_to_one(void **state) {
  (void)state;
  const plag_chance row[] = {{9, 1}, {0, 0}, {2, 2}};
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    double sum = 0;
    for (int k = 0; k <= 17; k++)
      sum += exp(plag_density_chance(k, 17, row[i]));
    assert_close(sum, 1, 0, 1e-9);
  }
}

/* Methods, section 4: Beta-Binomial(k; n, 9, 1) over Binomial(k; n, 1/2). All 10 of 10 jumps
 * towards the command: B(19, 1) / B(9, 1) = 9/19 against 1/1024. */
static void the_direction_of_jumps_weighs_as_published(void **state) {
  (void)state;
  const double plates = plag_density_chance(10, 10, (plag_chance){9, 1});
  const double anywhere = plag_density_chance(10, 10, (plag_chance){0, 0});
  const double background = 0.01 / 11;
  assert_close(exp(plates), 0.99 * 9 / 19 + background, 1e-9, 0);
  assert_close(exp(anywhere), 0.99 / 1024 + background, 1e-9, 0);
}

static void a_limit_divides(void **state) {
  (void)state;
  const double sure_above = plag_density_side(0.9997, 1.71, 0.35, 8, PLAG_SIDE_ABOVE) -
                            plag_density_side(0.9997, 1.71, 0.35, 8, PLAG_SIDE_BELOW);
  const double sure_below = plag_density_side(0.0003, 0.37, 0.35, 8, PLAG_SIDE_BELOW) -
                            plag_density_side(0.0003, 0.37, 0.35, 8, PLAG_SIDE_ABOVE);
  assert_between(sure_above, 5, 12);
  assert_between(sure_below, 5, 12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(continuous_densities_integrate_to_one),
      cmocka_unit_test(counts_add_up_to_one),
      cmocka_unit_test(chances_add_up_to_one),
      cmocka_unit_test(the_direction_of_jumps_weighs_as_published),
      cmocka_unit_test(a_limit_divides),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
