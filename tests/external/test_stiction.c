/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stick band S and slip jump J of published stiction models come back within half a command step
 * (0.05 %) from a slow triangle of the command, by the public road alone: named columns and a spec.
 * The files in data/stiction were computed from the models' definitions: Kano et al., DYCOPS 2004;
 * He, Wang, Pottmann, Qin, Ind. Eng. Chem. Res. 46 (2007) 4549, S = fs + fd, J = fs - fd; Stenman,
 * Gustafsson, Forsman, Int. J. Adapt. Control Signal Process. 17 (2003) 625, plates leave at d and
 * land on the target: S = J = d. */
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "support/check.h"

#include "platelag/platelag.h"

/* Plates that leave just above S were last seen at rest there and next, a step on, gone: the middle
 * is half a step above. */
#define HALF_STEP_PCT 0.05
#define ROUNDING_PCT  1e-6

static const char SPEC[] = "[valve]\ncommand = command_pct\nposition = position_pct\n"
                           "closed_v = 0\nopen_v = 100\n";

static platelag_spec *read_spec(void) {
  char path[] = "/tmp/platelag-spec-XXXXXX";
  const int handle = mkstemp(path);
  assert_true(handle >= 0);
  assert_int_equal(write(handle, SPEC, sizeof SPEC - 1), sizeof SPEC - 1);
  assert_int_equal(close(handle), 0);
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  if (platelag_spec_read(path, &spec, &error) != PLATELAG_OK)
    print_message("spec: %s\n", error.message);
  assert_int_equal(unlink(path), 0);
  assert_non_null(spec);
  return spec;
}

static platelag_fit *fit_file(const char *name, const platelag_spec *spec) {
  char path[512];
  (void)snprintf(path, sizeof path, "%s/stiction/%s", PLATELAG_EXTERNAL_DATA, name);
  const platelag_read_options options = {.spec = spec};
  platelag_error error = {0};
  platelag_capture *capture = NULL;
  platelag_trace *trace = NULL;
  platelag_workspace *workspace = NULL;
  platelag_fit *fit = NULL;
  platelag_status status = platelag_capture_read(path, &options, &capture, &error);
  if (status == PLATELAG_OK)
    status = platelag_trace_build(capture, 0, 0, spec, PLATELAG_CONDITION_ROAD, &trace, &error);
  if (status == PLATELAG_OK)
    status = platelag_workspace_create(&workspace, &error);
  if (status == PLATELAG_OK)
    status = platelag_fit_build(trace, platelag_spec_for_bank(spec, 0), workspace, &fit, &error);
  if (status != PLATELAG_OK)
    print_message("%s: %s\n", name, error.message);
  assert_int_equal(status, PLATELAG_OK);
  platelag_workspace_destroy(workspace);
  platelag_trace_destroy(trace);
  platelag_capture_destroy(capture);
  return fit;
}

static void published_models_come_back(void **state) {
  (void)state;
  static const struct {
    const char *name;
    double stick_band_pct, slip_jump_pct;
  } rows[] = {
      {"kano_S5_J2.csv", 5.0, 2.0},
      {"kano_S5_J0.csv", 5.0, 0.0},
      {"he_fs3.5_fd1.5.csv", 5.0, 2.0},
      {"stenman_d3.csv", 3.0, 3.0},
  };
  platelag_spec *spec = read_spec();
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    platelag_fit *fit = fit_file(rows[k].name, spec);
    const platelag_estimate *band = &fit->friction.stick_band_pct;
    const platelag_estimate *jump = &fit->friction.slip_jump_pct;
    print_message("%s: S %.7f [%.3f %.3f], J %.7f [%.3f %.3f]\n", rows[k].name, band->value,
                  band->low, band->high, jump->value, jump->low, jump->high);
    assert_int_equal(band->known, PLATELAG_KNOWN_VALUE);
    assert_int_equal(jump->known, PLATELAG_KNOWN_VALUE);
    assert_close(band->value, rows[k].stick_band_pct, 0, HALF_STEP_PCT + ROUNDING_PCT);
    assert_close(jump->value, rows[k].slip_jump_pct, 0, HALF_STEP_PCT + ROUNDING_PCT);
    assert_between(rows[k].stick_band_pct, band->low - HALF_STEP_PCT, band->high + HALF_STEP_PCT);
    assert_between(rows[k].slip_jump_pct, jump->low - HALF_STEP_PCT, jump->high + HALF_STEP_PCT);
    const platelag_estimate *moving = &fit->friction.moving_pct;
    const double behind_pct = 0.5 * (rows[k].stick_band_pct - rows[k].slip_jump_pct);
    assert_int_equal(moving->known, PLATELAG_KNOWN_VALUE);
    assert_close(moving->value, behind_pct, 0, HALF_STEP_PCT + ROUNDING_PCT);
    assert_between(moving->low, 0, moving->value);
    assert_true(moving->high >= moving->value && moving->high < behind_pct + 0.5);
    platelag_fit_destroy(fit);
  }
  platelag_spec_destroy(spec);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(published_models_come_back)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
