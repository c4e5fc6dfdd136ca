/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A recording of which no part is ours gives the lag that is published for it: a hair dryer whose
 * heater switches between two levels every few samples, never waiting for the outlet to settle.
 * Sources: L. Ljung, System Identification, the dryer; DaISy 96-006; as in Debian's octave-control
 * (moen4.m). Expected: a dead time of three samples of 0.08 s behind a zero-order hold, 0.16 to
 * 0.24 s; tau of first order plus dead time 0.374 s and gain 0.971 (output error, SciPy). The peak
 * of the cross-correlation, five samples, is not the dead time. The heater was switched by the
 * recorder itself, on its rows, which the fit must find out. */
#include <math.h>
#include <string.h>

#include "support/check.h"

#include "platelag/platelag.h"

#define FOLDER PLATELAG_EXTERNAL_DATA "/dryer/"

struct expected {
  const char *name;
  size_t offset; /* in platelag_lag */
  double low, high;
};

#define LAG(member) #member, offsetof(platelag_lag, member)
static const struct expected EXPECTED[] = {
    {LAG(dead_time_s), 0.16, 0.24},
    {LAG(opening_tau_s), 0.374 * 0.97, 0.374 * 1.03},
    {LAG(closing_tau_s), 0.374 * 0.97, 0.374 * 1.03},
    {LAG(opening_t63_s), 0.221 + 0.374 - 0.04, 0.221 + 0.374 + 0.04},
    {LAG(closing_t63_s), 0.221 + 0.374 - 0.04, 0.221 + 0.374 + 0.04},
};

/* Volts of the outlet for one of the heater, by the map. */
static double gain_of(const platelag_review_valve *valve) {
  const platelag_trace *trace = valve->trace;
  const double low_pct = platelag_fit_target_pct(valve->fit, trace, trace->command_lowest);
  const double high_pct = platelag_fit_target_pct(valve->fit, trace, trace->command_highest);
  return (high_pct - low_pct) / 100.0 * (trace->open_level - trace->closed_level) /
         (trace->command_highest - trace->command_lowest);
}

static void published_lag(void **state) {
  (void)state;
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  const platelag_review_file file = {.path = FOLDER "dryer.csv",
                                     .condition = PLATELAG_CONDITION_ROAD};
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_read(FOLDER "dryer.ini", &spec, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_name_columns(spec, "heater_volts", "outlet_temp_volts", &error),
                   PLATELAG_OK);
  const platelag_review_options options = {.spec = spec};
  assert_int_equal(platelag_review_build(&file, 1, &options, workspace, &review, &error),
                   PLATELAG_OK);
  assert_int_equal(review->capture[0].valve_count, 1);
  const platelag_lag *lag = &review->capture[0].valve[0].fit->lag;
  for (size_t i = 0; i < sizeof EXPECTED / sizeof *EXPECTED; i++) {
    platelag_estimate estimate;
    memcpy(&estimate, (const char *)lag + EXPECTED[i].offset, sizeof estimate);
    print_message("%-14s %.4f s, %.4f to %.4f\n", EXPECTED[i].name, estimate.value, estimate.low,
                  estimate.high);
    assert_int_equal(estimate.known, PLATELAG_KNOWN_VALUE);
    assert_between(estimate.value, EXPECTED[i].low, EXPECTED[i].high);
    assert_true(estimate.low < estimate.value && estimate.value < estimate.high);
  }
  const double gain = gain_of(&review->capture[0].valve[0]);
  print_message("%-14s %.4f\n", "gain", gain);
  assert_close(gain, 0.971, 0.02, 0);
  assert_true(lag->command_on_rows);
  assert_int_equal(lag->rate_pct_per_s.known, PLATELAG_KNOWN_NOTHING);
  platelag_review_destroy(review);
  platelag_spec_destroy(spec);
  platelag_workspace_destroy(workspace);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(published_lag)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
