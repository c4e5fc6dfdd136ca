/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Made traces are what they say: the closed form of first order plus dead time, friction's rule,
 * changes and segments where they were put. */
#include "support/check.h"
#include "support/made_random.h"
#include "support/made_trace.h"

#include <math.h>

/* Travel after one step from 0 to 100 % at 2.3847 s, from the textbook's formula. */
static double one_opening(double at_s, double dead_time_s, double tau_s) {
  const double since_s = at_s - 2.3847 - dead_time_s;
  return since_s < 0.0 ? 0.0 : 100.0 * (1.0 - exp(-since_s / tau_s));
}

static void one_step_follows_the_closed_form(void **state) {
  (void)state;
  const struct {
    double dead_time_s, tau_s, rows_per_second, skew_s;
  } row[] = {{0.2173, 0.3741, 10.0, 0.0}, {0.0, 1.2083, 20.0, 0.0177}, {0.0912, 0.0531, 2.0, 0.0}};
  const plag_test_step step[] = {{0.0, 0.0}, {2.3847, 100.0}};
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    platelag_trace *trace =
        plag_test_trace_simulate(&(plag_test_plant){.dead_time_s = row[i].dead_time_s,
                                                    .tau_open_s = row[i].tau_s,
                                                    .tau_close_s = 0.0713,
                                                    .duration_s = 7.31,
                                                    .rows_per_second = row[i].rows_per_second,
                                                    .skew_s = row[i].skew_s,
                                                    .jitter_share = 0.05,
                                                    .seed = 417 + i},
                                 step, 2);
    assert_true(trace->sample_count > 12);
    for (size_t k = 0; k < trace->sample_count; k++) {
      const double at_s = platelag_seconds(trace->time_ns[k]) + row[i].skew_s;
      assert_close(platelag_trace_travel_pct(trace, trace->level[k]),
                   one_opening(at_s, row[i].dead_time_s, row[i].tau_s), 0, 1e-5);
    }
    assert_int_equal(trace->change_count, 1);
    const platelag_command_change change = platelag_trace_change_at(trace, 0);
    assert_true(platelag_seconds(change.after_ns) < 2.3847);
    assert_true(platelag_seconds(change.by_ns) >= 2.3847);
    assert_close(change.to, 100.0, 0, 0);
    plag_test_trace_destroy(trace);
  }
}

/* S = 9, J = 2: leaves at a pull of more than 5.5, lands 3.5 short. */
static void friction_holds_and_lets_go(void **state) {
  (void)state;
  const plag_test_step step[] = {{0.0, 20.0}, {1.03, 25.4}, {2.07, 25.6}, {3.01, 17.0}};
  const double expected[] = {20.0, 20.0, 22.1, 22.1};
  platelag_trace *trace = plag_test_trace_simulate(&(plag_test_plant){.stick_band_pct = 9.0,
                                                                      .slip_jump_pct = 2.0,
                                                                      .duration_s = 4.0,
                                                                      .rows_per_second = 10.0,
                                                                      .seed = 31},
                                                   step, 4);
  for (size_t k = 0; k < trace->sample_count; k++) {
    const double at_s = platelag_seconds(trace->time_ns[k]);
    const size_t set = at_s >= 3.01 ? 3 : at_s >= 2.07 ? 2 : at_s >= 1.03 ? 1 : 0;
    assert_close(platelag_trace_travel_pct(trace, trace->level[k]), expected[set], 0, 1e-9);
  }
  plag_test_trace_destroy(trace);
}

static void a_gap_carries_nothing_over(void **state) {
  (void)state;
  const double time_s[] = {0.11, 0.21, 0.31, 9.41, 9.51, 9.61};
  const double command[] = {5.0, NAN, 35.5, 80.2, 80.2, 5.0};
  const double level[] = {1.21, 1.22, 1.41, 3.31, 3.32, 3.32};
  platelag_trace *trace = plag_test_trace_make(&(plag_test_samples){.command_count = 6,
                                                                    .command_time_s = time_s,
                                                                    .command = command,
                                                                    .position_count = 6,
                                                                    .position_time_s = time_s,
                                                                    .level = level,
                                                                    .gap_s = 2.0});
  assert_int_equal(trace->segment_count, 2);
  assert_int_equal(trace->change_count, 2);
  assert_close(trace->segment[1].command_at_start, 80.2, 0, 0);
  const platelag_command_change change = platelag_trace_change_at(trace, 0);
  assert_int_equal(change.after_ns, 110000000);
  assert_close(change.from, 5.0, 0, 0);
  assert_int_equal(platelag_trace_change_at(trace, 1).segment, 1);
  assert_close(trace->level_quantum, 0.01, 0, 1e-9);
  plag_test_trace_destroy(trace);
}

static void normal_deviates_are_normal(void **state) {
  (void)state;
  plag_test_random random = {20260417};
  double sum = 0.0, squares = 0.0;
  int beyond = 0;
  const int count = 40000;
  for (int i = 0; i < count; i++) {
    const double deviate = plag_test_random_normal(&random);
    sum += deviate;
    squares += deviate * deviate;
    beyond += fabs(deviate) > 1.6449;
  }
  assert_close(sum / count, 0.0, 0, 0.02);
  assert_close(squares / count, 1.0, 0, 0.03);
  assert_close((double)beyond / count, 0.10, 0, 0.006);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_step_follows_the_closed_form),
      cmocka_unit_test(friction_holds_and_lets_go),
      cmocka_unit_test(a_gap_carries_nothing_over),
      cmocka_unit_test(normal_deviates_are_normal),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
