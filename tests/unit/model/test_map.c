/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The static map from settled readings whose truth is known: few levels become knots, monotone and
 * robust; many become the line between two stops that they were made of, or knots where they were
 * made of no line. */
#include "support/check.h"

#include <math.h>

#include "model/map.h"
#include "support/made_random.h"

enum { MOST = 400 };

static platelag_trace trace_of(double lowest, double highest) {
  return (platelag_trace){.command_lowest = lowest, .command_highest = highest};
}

/* Weighted medians of levels, the middle of two where the weight parts between them, and neighbours
 * that go against the rest pooled: 61.5 and 55.5 of weights 1 and 3 become 57. */
static void few_levels_become_knots(void **state) {
  (void)state;
  plag_map_point point[] = {
      {71.2, 55.5, 3}, {10.4, 12.1, 1}, {90.6, 88.0, 1}, {10.3, 80.0, 0.5},
      {52.7, 61.5, 1}, {10.4, 12.3, 1}, {90.7, 92.0, 1}, {10.5, 2.0, 0.5},
  };
  const platelag_trace trace = trace_of(10.3, 90.7);
  platelag_fit fit = {0};
  plag_map_build(&fit, &trace, point, sizeof point / sizeof point[0]);
  static const struct {
    double command, pct;
  } rows[] = {{10.4, 12.2}, {52.7, 57.0},   {71.2, 57.0}, {90.65, 90.0},
              {3.0, 12.2},  {80.925, 73.5}, {99.0, 90.0}, {31.55, 34.6}};
  assert_int_equal(fit.map_knots, 4);
  assert_true(fit.map_rising);
  assert_close(fit.map_low_pct, 12.2, 0, 1e-9);
  assert_close(fit.map_high_pct, 90.0, 0, 1e-9);
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    assert_close(platelag_fit_target_pct(&fit, &trace, rows[i].command), rows[i].pct, 0, 1e-9);
  assert_true(isnan(platelag_fit_target_pct(&fit, &trace, NAN)));
}

/* Without knots two known ends are a line; without either nothing is known. */
static void ends_without_knots(void **state) {
  (void)state;
  const platelag_trace trace = trace_of(20.0, 70.0);
  platelag_fit fit = {.map_low_pct = 4.0, .map_high_pct = 94.0};
  assert_close(platelag_fit_target_pct(&fit, &trace, 35.0), 31.0, 0, 1e-9);
  assert_close(platelag_fit_target_pct(&fit, &trace, 5.0), 4.0, 0, 1e-9);
  assert_close(platelag_fit_target_pct(&fit, &trace, 80.0), 94.0, 0, 1e-9);
  fit.map_high_pct = 4.0;
  assert_true(isnan(platelag_fit_target_pct(&fit, &trace, 35.0)));
}

/* A line between two stops, seen at many commands. */
typedef struct line {
  const char *what;
  double slope, offset, low_pct, high_pct; /* in truth */
  double from, to;                         /* commands visited */
  double odd_pct;                          /* every eleventh reading off by so much */
  size_t knots;                            /* expected */
} line;

static const line LINES[] = {
    {"both stops", 1.4, -20.0, 3.0, 96.0, 5.0, 95.0, 0, 4},
    {"falling", -1.3, 121.0, 2.0, 98.0, 4.0, 97.0, 0, 4},
    {"no closed stop", 1.4, -20.0, 3.0, 96.0, 31.0, 95.0, 0, 3},
    {"no open stop", 1.4, -20.0, 3.0, 96.0, 5.0, 61.0, 0, 3},
    {"readings that went astray", 1.4, -20.0, 3.0, 96.0, 5.0, 95.0, 14.0, 4},
    {"straight all the way", 1.1, -6.0, -50.0, 150.0, 12.0, 88.0, 0, 2},
};

static double on_line(const line *of, double command) {
  return fmin(fmax(of->offset + of->slope * command, of->low_pct), of->high_pct);
}

static void many_levels_become_the_line(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof LINES / sizeof LINES[0]; k++) {
    const line *of = &LINES[k];
    const platelag_trace trace = trace_of(of->from, of->to);
    plag_test_random random = {4129 + k};
    plag_map_point point[MOST];
    platelag_fit fit = {0};
    for (size_t i = 0; i < MOST; i++) {
      const double command = plag_test_random_uniform(&random, of->from, of->to);
      const double off = 0.11 * plag_test_random_normal(&random);
      point[i] = (plag_map_point){command, on_line(of, command) + off, 1.0};
      if (i % 11 == 0)
        point[i].travel_pct += of->odd_pct;
    }
    plag_map_build(&fit, &trace, point, MOST);
    double worst = 0;
    for (double command = of->from; command <= of->to; command += 0.7)
      worst =
          fmax(worst, fabs(platelag_fit_target_pct(&fit, &trace, command) - on_line(of, command)));
    print_message("%s: %zu knots, off by %.2f %% at most\n", of->what, fit.map_knots, worst);
    assert_int_equal(fit.map_knots, of->knots);
    assert_int_equal(fit.map_rising, of->slope > 0);
    assert_true(worst < (of->odd_pct > 0 ? 0.5 : 0.15));
  }
}

/* A bow is no line: the knots stay, and follow it. */
static void a_bow_stays_knots(void **state) {
  (void)state;
  const platelag_trace trace = trace_of(0.0, 100.0);
  plag_map_point point[MOST];
  platelag_fit fit = {0};
  for (size_t i = 0; i < MOST; i++) {
    const double command = 100.0 * ((double)i + 0.5) / MOST;
    point[i] = (plag_map_point){command, 10.0 * sqrt(command), 1.0};
  }
  plag_map_build(&fit, &trace, point, MOST);
  assert_int_equal(fit.map_knots, PLATELAG_MAP_KNOTS);
  for (double command = 12.0; command <= 92.0; command += 2.3)
    assert_close(platelag_fit_target_pct(&fit, &trace, command), 10.0 * sqrt(command), 0, 1.2);
}

/* Many commands, and all of them past one stop or the other: where the line lies nobody knows. */
static void two_stops_are_no_line(void **state) {
  (void)state;
  const platelag_trace trace = trace_of(2.0, 98.0);
  plag_test_random random = {5573};
  plag_map_point point[MOST];
  platelag_fit fit = {0};
  for (size_t i = 0; i < MOST; i++) {
    const double command = plag_test_random_uniform(&random, 2.0, 34.0) + (i % 2 ? 0.0 : 64.0);
    const double stop_pct = i % 2 ? 3.1 : 95.7;
    point[i] = (plag_map_point){command, stop_pct + 0.11 * plag_test_random_normal(&random), 1.0};
  }
  plag_map_build(&fit, &trace, point, MOST);
  print_message("%zu knots\n", fit.map_knots);
  assert_true(fit.map_knots > 4);
  assert_close(fit.map_low_pct, 3.1, 0, 0.1);
  assert_close(fit.map_high_pct, 95.7, 0, 0.1);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(few_levels_become_knots),     cmocka_unit_test(ends_without_knots),
      cmocka_unit_test(many_levels_become_the_line), cmocka_unit_test(a_bow_stays_knots),
      cmocka_unit_test(two_stops_are_no_line),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
