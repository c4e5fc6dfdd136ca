/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A histogram counts every value once, in round bins that keep the shape of the many and hold the
 * limit. */
#include "support/check.h"

#include <math.h>

#include "core/round_step.h"
#include "fleet/html_spread.h"

static const struct {
  double least, step;
} steps[] = {{0.0137, 0.02}, {0.02, 0.02}, {2.385, 5}, {5.0001, 10}, {73, 100}, {0.9, 1}};

static void steps_are_round(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
    assert_close(plag_round_step(steps[i].least), steps[i].step, 1e-12, 0);
}

static const struct {
  const char *name;
  size_t count;
  double first, step, last; /* count - 1 values in steps, and one more */
  double limit;
  size_t below, above;
} cases[] = {
    {"even", 62, 1.137, 0.0137, 2.003, NAN, 0, 0},
    {"with a limit beyond", 62, 1.137, 0.0137, 2.003, 2.385, 0, 0},
    {"one far above", 62, 1.137, 0.0137, 73.1, 2.385, 0, 1},
    {"one far below", 62, 1.137, 0.0137, -73.1, 2.385, 1, 0},
    {"a limit far above the far one", 62, 1.137, 0.0137, 73.1, 97.3, 0, 0},
    {"all alike", 17, 3.771, 0, 3.771, NAN, 0, 0},
    {"all nothing but one", 41, 0, 0, 13.2, NAN, 0, 0},
    {"one", 1, 0, 0, 2.385, NAN, 0, 0},
    {"below nothing", 23, -4.137, 0.0371, -4.003, NAN, 0, 0},
};

static void every_value_is_counted_once(void **state) {
  (void)state;
  enum { MOST = 80 };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value[MOST];
    for (size_t k = 0; k + 1 < cases[i].count; k++)
      value[k] = cases[i].first + cases[i].step * (double)k;
    value[cases[i].count - 1] = cases[i].last;
    const plag_spread spread = plag_spread_of(value, cases[i].count, cases[i].limit);
    size_t counted = spread.below + spread.above;
    for (size_t k = 0; k < spread.bins; k++)
      counted += spread.count[k];
    if (counted != cases[i].count || spread.below != cases[i].below ||
        spread.above != cases[i].above || spread.bins < 1 || spread.bins > PLAG_SPREAD_BINS)
      fail_msg("%s: %zu of %zu counted, %zu below, %zu above, %zu bins", cases[i].name, counted,
               cases[i].count, spread.below, spread.above, spread.bins);
    assert_close(plag_round_step(spread.width), spread.width, 1e-12, 0);
    if (isfinite(cases[i].limit))
      assert_between(cases[i].limit, spread.from, spread.from + spread.width * (double)spread.bins);
  }
  assert_int_equal(plag_spread_of(NULL, 0, NAN).bins, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(steps_are_round),
      cmocka_unit_test(every_value_is_counted_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
