/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plates that close far more slowly than they open: each way keeps its own lag, also where the slow
 * way is only just at rest when the next step comes. */
#include "platelag/platelag.h"
#include "support/check.h"
#include "support/made_trace.h"

enum { STEPS = 30 };

static void each_way_keeps_its_own_lag(void **state) {
  (void)state;
  for (int slow = 0; slow < 2; slow++) {
    plag_test_step step[STEPS + 1] = {{0.0, 17.3}};
    for (int k = 1; k <= STEPS; k++)
      step[k] = (plag_test_step){step[k - 1].at_s + 5.173, k % 2 ? 81.9 : 17.3};
    const plag_test_plant plant = {.dead_time_s = 0.061,
                                   .tau_open_s = slow ? 0.823 : 0.094,
                                   .tau_close_s = slow ? 0.094 : 0.823,
                                   .duration_s = 5.173 * (STEPS + 1),
                                   .rows_per_second = 20.0,
                                   .noise_pct = 0.3,
                                   .seed = 7717};
    platelag_trace *trace = plag_test_trace_simulate(&plant, step, STEPS + 1);
    platelag_spec *spec = NULL;
    platelag_workspace *workspace = NULL;
    platelag_fit *fit = NULL;
    platelag_error error = {0};
    assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
    assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
    assert_int_equal(
        platelag_fit_build(trace, platelag_spec_for_bank(spec, 0), workspace, &fit, &error),
        PLATELAG_OK);
    assert_true(fit->lag.apart);
    assert_close(fit->lag.opening_tau_s.value, plant.tau_open_s, 0.005, 0);
    assert_close(fit->lag.closing_tau_s.value, plant.tau_close_s, 0.005, 0);
    assert_close(fit->lag.dead_time_s.value, plant.dead_time_s, 0, 0.004);
    platelag_fit_destroy(fit);
    platelag_workspace_destroy(workspace);
    platelag_spec_destroy(spec);
    plag_test_trace_destroy(trace);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(each_way_keeps_its_own_lag)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
