/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Settled levels beside steps: each is the mean of its own readings, and what the fit uses is drawn
 * towards what the same command gives elsewhere, before and behind every step alike. */
#include "model/windows.h"
#include "support/check.h"
#include "support/made_model.h"
#include "support/made_trace.h"

#include <math.h>

enum { STEPS = 24 };

/* Up and down between two commands; noise makes the levels differ, nothing else does. */
static platelag_trace *make_trace(void) {
  plag_test_step step[STEPS + 1] = {{0.0, 21.7}};
  for (int k = 1; k <= STEPS; k++)
    step[k] = (plag_test_step){4.37 * k, k % 2 ? 73.9 : 21.7};
  const plag_test_plant plant = {.dead_time_s = 0.087,
                                 .tau_open_s = 0.113,
                                 .tau_close_s = 0.113,
                                 .duration_s = 4.37 * (STEPS + 1),
                                 .rows_per_second = 10.0,
                                 .noise_pct = 1.7,
                                 .seed = 90127};
  return plag_test_trace_simulate(&plant, step, STEPS + 1);
}

/* Sums over all levels of one command: their number, and squares about the command. */
typedef struct scatter {
  double count, mean_squares, used_squares;
} scatter;

static void add(scatter *to, const plag_settled *level, double command) {
  to->count += 1.0;
  to->mean_squares += (level->mean_pct - command) * (level->mean_pct - command);
  to->used_squares += (level->pct - command) * (level->pct - command);
}

static void levels_of_one_command_lean_on_each_other(void **state) {
  (void)state;
  platelag_trace *trace = make_trace();
  plag_test_model made;
  plag_windows windows;
  platelag_error error = {0};
  plag_test_model_begin(&made, trace);
  made.model.noise_pct = 1.7;
  assert_int_equal(plag_windows_build(&made.model, false, &windows, &error), PLATELAG_OK);
  assert_true(windows.count >= STEPS - 2);
  assert_close(windows.noise_pct, 1.7, 0.15, 0);
  assert_true(windows.spread_pct < 0.3);
  scatter before = {0};
  scatter after = {0};
  for (size_t k = 0; k < windows.count; k++) {
    const plag_window *w = &windows.window[k];
    assert_close(w->before.pct, w->command_from, 0, 0.8);
    assert_close(w->after.pct, w->command_to, 0, 0.8);
    add(&before, &w->before, w->command_from);
    add(&after, &w->after, w->command_to);
  }
  /* Without a spread of their own they would all be the mean of some two dozen. */
  assert_true(before.used_squares < 0.3 * before.mean_squares);
  assert_true(after.used_squares < 0.3 * after.mean_squares);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(levels_of_one_command_lean_on_each_other)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
