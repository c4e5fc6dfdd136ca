/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Smith's two points of a step, t28.3 and t63.2, give tau = 1.5 (t63.2 - t28.3) and the dead time
 * t63.2 - tau: read off a simulated step they come out as computed for tau 0.8 s and dead time
 * 0.35 s, and the fit of the same plates agrees. Source: K. Astrom, T. Hagglund, Advanced PID
 * Control (2006), chapter 3; identity computed. And in the words of step tests (ANSI/ISA-75.25.01)
 * T63 is dead time plus tau, T86 dead time plus twice tau. */
#include <math.h>

#include "support/check.h"
#include "support/made_trace.h"

#include "platelag/platelag.h"

#define STEP_AT_S 2.385

struct point {
  double share; /* of the move */
  double at_s;  /* after the step, exactly: dead time - tau log(1 - share) */
};

static const struct point POINTS[] = {{0.283, 0.350 + 0.8 * 0.332679},
                                      {0.632, 0.350 + 0.8 * 0.999672}};

static double crossing_s(const platelag_trace *trace, double level_pct) {
  for (size_t i = 1; i < trace->sample_count; i++) {
    const double before = platelag_trace_travel_pct(trace, trace->level[i - 1]);
    const double now = platelag_trace_travel_pct(trace, trace->level[i]);
    if (before < level_pct && now >= level_pct)
      return platelag_seconds(trace->time_ns[i - 1]) +
             (level_pct - before) / (now - before) *
                 platelag_seconds(trace->time_ns[i] - trace->time_ns[i - 1]) -
             STEP_AT_S;
  }
  return NAN;
}

/* The ruler's steps: by their middle T63 and T86 are those of first order; 86.5 % is short of
 * 1 - exp(-2) by 0.0003 of the move. */
static void assert_step_words(const platelag_fit *fit, double dead_time_s, double tau_s) {
  size_t settled = 0;
  for (size_t i = 0; i < fit->step_count; i++) {
    const platelag_step *step = &fit->step[i];
    if (step->end != PLATELAG_STEP_SETTLED)
      continue;
    settled++;
    assert_close(step->t63_s, dead_time_s + tau_s, 0, 0.004);
    assert_close(step->t86_s, dead_time_s + 2.0 * tau_s, 0, 0.006);
  }
  print_message("%zu steps read off\n", settled);
  assert_true(settled >= 10);
}

static void two_points(void **state) {
  (void)state;
  const plag_test_plant plant = {
      .dead_time_s = 0.35,
      .tau_open_s = 0.8,
      .tau_close_s = 0.8,
      .duration_s = 90.0,
      .rows_per_second = 400.0,
      .seed = 2851,
  };
  plag_test_step step[12] = {{0.0, 17.3}};
  for (size_t i = 1; i < 12; i++)
    step[i] = (plag_test_step){STEP_AT_S + 7.61 * (double)(i - 1), i % 2 == 1 ? 81.9 : 17.3};
  platelag_trace *trace = plag_test_trace_simulate(&plant, step, 12);
  double at_s[2];
  for (size_t k = 0; k < 2; k++) {
    at_s[k] = crossing_s(trace, 17.3 + POINTS[k].share * (81.9 - 17.3));
    assert_close(at_s[k], POINTS[k].at_s, 0.0, 2e-5);
  }
  const double tau_s = 1.5 * (at_s[1] - at_s[0]);
  assert_close(tau_s, 0.800391, 0.0, 5e-5);
  assert_close(at_s[1] - tau_s, 0.349346, 0.0, 5e-5);

  platelag_error error = {0};
  platelag_workspace *workspace = NULL;
  platelag_spec *spec = NULL;
  platelag_fit *fit = NULL;
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  assert_int_equal(
      platelag_fit_build(trace, platelag_spec_for_bank(spec, 0), workspace, &fit, &error),
      PLATELAG_OK);
  assert_close(fit->lag.opening_tau_s.value, tau_s, 0.01, 0.0);
  assert_close(fit->lag.dead_time_s.value, at_s[1] - tau_s, 0.0, 0.005);
  assert_step_words(fit, at_s[1] - tau_s, tau_s);
  platelag_fit_destroy(fit);
  platelag_spec_destroy(spec);
  platelag_workspace_destroy(workspace);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(two_points)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
