/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Intervals of slopes and p values are right as often as they say, on made series whose logs are of
 * very unequal worth. */
#include <math.h>
#include <stdlib.h>

#include "fleet/trend.h"
#include "support/check.h"
#include "support/made_random.h"

enum { MOST = 15 };
#define NORMAL_95   1.6448536269514722
#define COUNT(list) (sizeof(list) / sizeof *(list))

/* Logs at uneven times, of deviations that differ up to tenfold, which their intervals tell;
 * logs scatter by `between` more, which they do not. */
static void make_series(plag_test_random *random, double slope_a_year, double between,
                        plag_trend_point *point, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const double at_days = 30.0 * (double)i + plag_test_random_uniform(random, -10.0, 10.0);
    const double deviation = 0.2 * exp(plag_test_random_uniform(random, 0.0, 2.3));
    const double value = 5.3 + slope_a_year * at_days / PLAG_DAYS_A_YEAR +
                         deviation * plag_test_random_normal(random) +
                         between * plag_test_random_normal(random);
    point[i] = (plag_trend_point){at_days, value, value - NORMAL_95 * deviation,
                                  value + NORMAL_95 * deviation};
  }
}

static const struct rate {
  size_t count;
  double between;
  int series; /* 8 logs have 40320 arrangements each */
} RATES[] = {{6, 0.0, 20000}, {8, 0.0, 4000}, {12, 0.0, 10000}, {15, 0.0, 10000},
             {6, 0.7, 20000}, {8, 0.7, 4000}, {12, 0.7, 10000}, {15, 0.7, 10000}};

static void intervals_hold_the_slope_as_often_as_they_say(void **state) {
  (void)state;
  const uint64_t seed = plag_test_seed(40917);
  for (size_t k = 0; k < COUNT(RATES); k++) {
    plag_test_random random = {seed + k};
    int held = 0;
    for (int series = 0; series < 2000; series++) {
      plag_trend_point point[MOST];
      double scratch[MOST * MOST];
      make_series(&random, 2.37, RATES[k].between, point, RATES[k].count);
      const plag_trend trend = plag_trend_of(point, RATES[k].count, PLAG_TREND_UP, scratch);
      held += trend.slope_low <= 2.37 && trend.slope_high >= 2.37;
    }
    print_message("%zu logs, scatter %.1f: 90 %% interval holds the slope in %.1f %%\n",
                  RATES[k].count, RATES[k].between, held / 20.0);
    assert_between(held / 20.0, 86.0, RATES[k].count < 8 ? 96.0 : 95.0);
  }
}

static void no_trend_is_seldom_called_one(void **state) {
  (void)state;
  const uint64_t seed = plag_test_seed(58231);
  for (size_t k = 0; k < COUNT(RATES); k++) {
    plag_test_random random = {seed + k};
    int called = 0;
    for (int series = 0; series < RATES[k].series; series++) {
      plag_trend_point point[MOST];
      double scratch[MOST * MOST];
      make_series(&random, 0.0, RATES[k].between, point, RATES[k].count);
      called += plag_trend_of(point, RATES[k].count, PLAG_TREND_UP, scratch).p < 0.05;
    }
    const double percent = 100.0 * called / RATES[k].series;
    print_message("%zu logs, scatter %.1f: p < 0.05 without a trend in %.2f %%\n", RATES[k].count,
                  RATES[k].between, percent);
    assert_between(percent, 2.0, 5.5);
  }
}

static void many_logs_are_safe(void **state) {
  (void)state;
  const size_t count = 2000;
  plag_test_random random = {plag_test_seed(7741)};
  plag_trend_point *point = malloc(count * sizeof *point);
  double *scratch = malloc(count * count * sizeof *scratch);
  assert_true(point != NULL && scratch != NULL);
  make_series(&random, 2.37, 0.7, point, count);
  const plag_trend trend = plag_trend_of(point, count, PLAG_TREND_UP, scratch);
  assert_int_equal(trend.count, count);
  assert_close(trend.slope_a_year, 2.37, 0.002, 0);
  assert_between(2.37, trend.slope_low, trend.slope_high);
  assert_between(trend.p, 0.0, 1e-12);
  free(scratch);
  free(point);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(intervals_hold_the_slope_as_often_as_they_say),
      cmocka_unit_test(no_trend_is_seldom_called_one),
      cmocka_unit_test(many_logs_are_safe),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
