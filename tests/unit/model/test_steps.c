/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Steps of the command are told from ramps and measured as a ruler would. */
#include "support/check.h"

#include <math.h>

#include "model/steps.h"
#include "support/made_model.h"
#include "support/made_trace.h"

/* First order behind a dead time: t63 = L + tau, t86 = L + 2 tau (from 86.5 % of the way). */
static void times_of_a_first_order_answer(void **state) {
  (void)state;
  static const struct {
    double dead_time_s, tau_s, rows_per_second, tolerance_s;
  } rows[] = {
      {0.087, 0.413, 20.0, 0.03},
      {0.213, 0.287, 50.0, 0.015},
      {0.031, 0.671, 10.0, 0.06},
  };
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    const plag_test_step step[] = {{0, 11.3}, {7.237, 83.7}, {19.411, 23.9}, {31.083, 67.1}};
    const plag_test_plant plant = {.dead_time_s = rows[k].dead_time_s,
                                   .tau_open_s = rows[k].tau_s,
                                   .tau_close_s = rows[k].tau_s,
                                   .duration_s = 43.7,
                                   .rows_per_second = rows[k].rows_per_second,
                                   .noise_pct = 0.05,
                                   .seed = 7151 + k};
    platelag_trace *trace = plag_test_trace_simulate(&plant, step, 4);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    made.model.noise_pct = 0.05;
    platelag_error error = {0};
    assert_int_equal(plag_steps_measure(&made.model, &error), PLATELAG_OK);
    assert_int_equal(made.fit.steps_in_trace, 3);
    assert_int_equal(made.fit.step_count, 3);
    double t63_s = 0.0;
    double t86_s = 0.0;
    for (size_t i = 0; i < 3; i++) {
      const platelag_step *seen = &made.fit.step[i];
      assert_int_equal(seen->end, PLATELAG_STEP_SETTLED);
      assert_close(seen->command_to, step[i + 1].command, 0, 1e-9);
      assert_close(seen->to_pct, step[i + 1].command, 0, 0.4);
      assert_close(platelag_seconds(seen->at_ns), step[i + 1].at_s, 0,
                   0.6 / rows[k].rows_per_second);
      assert_true(seen->dead_time_s > rows[k].dead_time_s - rows[k].tolerance_s);
      assert_close(seen->overshoot_pct, 0.0, 0, 0.5);
      t63_s += seen->t63_s / 3.0;
      t86_s += seen->t86_s / 3.0;
    }
    assert_close(t63_s, rows[k].dead_time_s + rows[k].tau_s, 0, rows[k].tolerance_s);
    assert_close(t86_s, rows[k].dead_time_s + 2.0 * rows[k].tau_s, 0, 1.5 * rows[k].tolerance_s);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* What a step is, and how it ends. */
static void kinds_of_changes(void **state) {
  (void)state;
  enum { MOST = 16 };
  static const struct {
    const char *what;
    plag_test_step step[MOST];
    size_t count;
    double stick_band_pct;
    size_t steps;
    platelag_step_end end; /* of the first */
  } rows[] = {
      {"a step", {{0, 20.7}, {8.03, 71.3}}, 2, 0, 1, PLATELAG_STEP_SETTLED},
      {"a transition of two rows",
       {{0, 20.7}, {8.03, 47.1}, {8.13, 71.3}},
       3,
       0,
       1,
       PLATELAG_STEP_SETTLED},
      {"a ramp",
       {{0, 20.7}, {8.03, 27}, {8.13, 33}, {8.23, 39}, {8.33, 45}, {8.43, 51}, {8.53, 57}},
       7,
       0,
       0,
       PLATELAG_STEP_SETTLED},
      {"too soon after another",
       {{0, 20.7}, {8.03, 71.3}, {8.31, 31.7}},
       3,
       0,
       0,
       PLATELAG_STEP_SETTLED},
      {"interrupted", {{0, 20.7}, {8.03, 71.3}, {8.83, 31.7}}, 3, 0, 2, PLATELAG_STEP_INTERRUPTED},
      {"no move", {{0, 20.7}, {8.03, 29.3}}, 2, 19.7, 1, PLATELAG_STEP_NO_MOVE},
      {"cut by the end", {{0, 20.7}, {16.43, 71.3}}, 2, 0, 1, PLATELAG_STEP_CUT},
      {"too small", {{0, 20.7}, {3.1, 71.3}, {8.03, 71.9}}, 3, 0, 1, PLATELAG_STEP_SETTLED},
  };
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    const plag_test_plant plant = {.dead_time_s = 0.071,
                                   .tau_open_s = 0.52,
                                   .tau_close_s = 0.52,
                                   .stick_band_pct = rows[k].stick_band_pct,
                                   .duration_s = 17.3,
                                   .rows_per_second = 10.0,
                                   .noise_pct = 0.07,
                                   .seed = 977};
    platelag_trace *trace = plag_test_trace_simulate(&plant, rows[k].step, rows[k].count);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    made.model.noise_pct = 0.07;
    platelag_error error = {0};
    assert_int_equal(plag_steps_measure(&made.model, &error), PLATELAG_OK);
    if (made.fit.step_count != rows[k].steps)
      fail_msg("%s: %zu steps, not %zu", rows[k].what, made.fit.step_count, rows[k].steps);
    if (rows[k].steps > 0 && made.fit.step[0].end != rows[k].end)
      fail_msg("%s: %s, not %s", rows[k].what, platelag_step_end_name(made.fit.step[0].end),
               platelag_step_end_name(rows[k].end));
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* The largest are kept, in order of time. */
static void the_table_is_bounded(void **state) {
  (void)state;
  enum { STEPS = 5600 };
  static plag_test_step step[STEPS];
  for (size_t k = 0; k < STEPS; k++)
    step[k] = (plag_test_step){0.83 * (double)k, k % 2 == 0 ? 3.7 : (k % 14 == 1 ? 97.1 : 41.3)};
  const plag_test_plant plant = {.dead_time_s = 0.05,
                                 .tau_open_s = 0.08,
                                 .tau_close_s = 0.08,
                                 .duration_s = 0.83 * STEPS,
                                 .rows_per_second = 10.0,
                                 .noise_pct = 0.1,
                                 .seed = 5};
  platelag_trace *trace = plag_test_trace_simulate(&plant, step, STEPS);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  platelag_error error = {0};
  assert_int_equal(plag_steps_measure(&made.model, &error), PLATELAG_OK);
  assert_true(made.fit.steps_in_trace > PLAG_MOST_STEPS);
  assert_true(made.fit.step_count <= PLAG_MOST_STEPS && made.fit.step_count > 500);
  size_t large = 0;
  for (size_t k = 0; k < made.fit.step_count; k++) {
    large += fabs(made.fit.step[k].command_to - made.fit.step[k].command_from) > 90.0;
    assert_true(k == 0 || made.fit.step[k].at_ns > made.fit.step[k - 1].at_ns);
  }
  assert_true(large >= 2 * STEPS / 14 - 4);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(times_of_a_first_order_answer),
      cmocka_unit_test(kinds_of_changes),
      cmocka_unit_test(the_table_is_bounded),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
