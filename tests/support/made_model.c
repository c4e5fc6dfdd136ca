/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_model.h"

#include <string.h>

#include "model/asked.h"
#include "support/check.h"

void plag_test_model_begin(plag_test_model *made, const platelag_trace *trace) {
  memset(made, 0, sizeof *made);
  platelag_error error = {0};
  assert_int_equal(platelag_spec_create(&made->spec, &error), PLATELAG_OK);
  assert_int_equal(platelag_workspace_create(&made->model.workspace, &error), PLATELAG_OK);
  made->model.trace = trace;
  made->model.spec = platelag_spec_for_bank(made->spec, 0);
  made->model.arena = &made->arena;
  made->model.fit = &made->fit;
  made->model.valid_count = trace->sample_count;
  made->model.noise_pct = 0.5;
  made->model.mode = plag_workspace_take(made->model.workspace, trace->sample_count + 1, 1);
  assert_non_null(made->model.mode);
  assert_true(plag_asked_take(&made->model));
}

void plag_test_model_end(plag_test_model *made) {
  plag_arena_clear(&made->arena);
  platelag_workspace_destroy(made->model.workspace);
  platelag_spec_destroy(made->spec);
}

static platelag_estimate exactly(double value) {
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value, value};
}

void plag_test_model_set_response(plag_test_model *made, double dead_time_s, double tau_open_s,
                                  double tau_close_s) {
  platelag_fit *fit = &made->fit;
  fit->map_low_pct = 0.0;
  fit->map_high_pct = 100.0;
  fit->map_rising = true;
  fit->lag.dead_time_s = exactly(dead_time_s);
  fit->lag.opening_tau_s = exactly(tau_open_s);
  fit->lag.closing_tau_s = exactly(tau_close_s);
}
