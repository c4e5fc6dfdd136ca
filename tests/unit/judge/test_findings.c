/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each fault, as its figures would be fitted, gets its own finding and family, and a record that
 * cannot tell is told as such. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/made_fit.h"

static void healthy(plag_test_record *r) {
  (void)r;
}
static void sticks_everywhere(plag_test_record *r) {
  plag_test_hold(r, 14, 47.3, 61);
  r->fit.friction.stick_band_pct = (platelag_estimate){PLATELAG_KNOWN_VALUE, 13.2, 11.9, 14.6};
  r->fit.signal.jumps = 14;
  r->fit.signal.jumps_towards = 14;
}
static void sticks_at_a_ridge(plag_test_record *r) {
  plag_test_hold(r, 11, 38.1, 5.3);
}
static void is_slow(plag_test_record *r) {
  plag_test_lag(r, 1.24, 1.07);
}
static void is_slow_one_way(plag_test_record *r) {
  plag_test_lag(r, 1.61, 0.29);
  r->fit.auxiliary.lag_supply_correlation = -0.71;
  r->fit.step_count = 8;
}
static void rests_short(plag_test_record *r) { /* the spring's end: no drive's weakness */
  r->fit.travel.rest_closed_pct = r->fit.travel.lowest_pct = 28.3;
}
static void ends_short(plag_test_record *r) {
  r->fit.travel.highest_pct = 71.3;
  r->fit.travel.rest_open_pct = 71.1;
}
static void wire_open(plag_test_record *r) {
  plag_test_pin_high(r, 99.6, 0.0);
}
static void jammed_past_stop(plag_test_record *r) {
  plag_test_pin_high(r, 91.6, 0.21);
}
static void shorted_low(plag_test_record *r) {
  plag_test_pin_low(r, 0.4);
}
static void seized(plag_test_record *r) {
  plag_test_stand_still(r, 46.3, true);
  r->fit.auxiliary.current_commanded_a = 2.17;
  r->fit.auxiliary.airflow_answer = 0.4;
  r->fit.auxiliary.steps = 31;
}
static void not_driven(plag_test_record *r) {
  plag_test_stand_still(r, 0.9, true);
  r->fit.auxiliary.current_commanded_a = 0.01;
}
static void frozen_while_air_answers(plag_test_record *r) {
  plag_test_stand_still(r, 52.7, false);
  r->fit.auxiliary.airflow_answer = 11.3;
  r->fit.auxiliary.steps = 37;
}
static void still_and_nothing_else(plag_test_record *r) {
  plag_test_stand_still(r, 2.3, true);
}
static void loses_readings(plag_test_record *r) {
  plag_test_drop_out(r, 23, 31.7, 0.29);
}
static void has_a_worn_spot(plag_test_record *r) {
  plag_test_drop_out(r, 31, 2.9, 0.97);
}
static void is_noisy(plag_test_record *r) {
  r->fit.signal.noise_pct = 6.9;
}
static void is_shifted(plag_test_record *r) {
  r->fit.travel.rest_closed_pct = 29.7;
  r->fit.travel.rest_open_pct = 128.9;
  r->fit.travel.lowest_pct = 29.1;
  r->fit.travel.highest_pct = 129.3;
}
static void is_shifted_within_tolerance(plag_test_record *r) {
  r->fit.travel.rest_closed_pct = 9.7;
  r->fit.travel.rest_open_pct = 109.1;
}
static void is_scaled(plag_test_record *r) { /* readings are 0.72 of what they should be */
  r->fit.travel.rest_closed_pct = 100 * (0.72 * 1.20 - 1.20) / 2.55;
  r->fit.travel.rest_open_pct = 100 * (0.72 * 3.75 - 1.20) / 2.55;
  r->fit.travel.lowest_pct = r->fit.travel.rest_closed_pct - 0.6;
  r->fit.travel.highest_pct = r->fit.travel.rest_open_pct + 0.4;
}
static void idles(plag_test_record *r) {
  r->fit.coverage.command_span_pct = 3.1;
  r->fit.coverage.openings = r->fit.coverage.closings = 0;
  plag_test_stand_still(r, 1.1, true);
  r->fit.coverage.command_span_pct = 3.1;
}
static void moved_once(plag_test_record *r) {
  r->fit.coverage.openings = 1;
  r->fit.coverage.closings = 0;
  r->trace.change_count = 1;
}
static void no_command(plag_test_record *r) {
  r->trace.command_kind = PLATELAG_COMMAND_ABSENT;
  r->fit.coverage.command_span_pct = 0;
}
static void turned_by_hand(plag_test_record *r) {
  plag_test_drop_out(r, 9, 31.7, 0.97); /* past the stops and back, as a road capture has it */
  idles(r);
  r->fit.travel.lowest_pct = -31.7;
  r->fit.travel.highest_pct = 128.3;
  r->fit.coverage.position_span_pct = 160;
}
static void one_stop_off_other_unseen(plag_test_record *r) {
  r->fit.travel.rest_closed_pct = 28.3;
  r->fit.travel.open_asked = false;
  r->fit.travel.rest_open_pct = NAN;
}
static void lag_at_its_limit(plag_test_record *r) {
  plag_test_lag(r, 0.71, 0.73);
}
static void at_rest(plag_test_record *r) {
  idles(r);
  r->trace.condition = PLATELAG_CONDITION_REST;
}

#define KIND(name)   PLATELAG_FINDING_##name
#define FAMILY(name) PLATELAG_FAMILY_##name
static const struct {
  const char *name;
  void (*change)(plag_test_record *record);
  platelag_finding_kind kind;
  platelag_family family;
  const char *lacking; /* a word of the first lacking sentence; NULL: nothing lacks */
} row[] = {
    {"healthy", healthy, KIND(FREE), FAMILY(FREE), NULL},
    {"sticks everywhere", sticks_everywhere, KIND(STICKING), FAMILY(MECHANICAL), NULL},
    {"sticks at a ridge", sticks_at_a_ridge, KIND(STICKING), FAMILY(MECHANICAL), NULL},
    {"slow", is_slow, KIND(SLOW), FAMILY(MECHANICAL), NULL},
    {"slow one way", is_slow_one_way, KIND(SLOW), FAMILY(DRIVE), NULL},
    {"short of the driven end", ends_short, KIND(SHORT_TRAVEL), FAMILY(UNDECIDED), "drive"},
    {"short of the rest", rests_short, KIND(SHORT_TRAVEL), FAMILY(MECHANICAL), NULL},
    {"wire open", wire_open, KIND(SIGNAL_HIGH), FAMILY(UNDECIDED), "hand sweep"},
    {"jammed past stop", jammed_past_stop, KIND(SIGNAL_HIGH), FAMILY(UNDECIDED), "hand sweep"},
    {"shorted low", shorted_low, KIND(SIGNAL_LOW), FAMILY(SENSOR_CIRCUIT), NULL},
    {"seized", seized, KIND(STILL), FAMILY(MECHANICAL), NULL},
    {"not driven", not_driven, KIND(STILL), FAMILY(DRIVE), NULL},
    {"frozen", frozen_while_air_answers, KIND(STILL), FAMILY(SENSOR_CIRCUIT), NULL},
    {"still", still_and_nothing_else, KIND(STILL), FAMILY(UNDECIDED), "current"},
    {"dropouts", loses_readings, KIND(SIGNAL_ERRATIC), FAMILY(SENSOR_CIRCUIT), NULL},
    {"worn spot", has_a_worn_spot, KIND(SIGNAL_ERRATIC), FAMILY(SENSOR_CIRCUIT), NULL},
    {"noise", is_noisy, KIND(SIGNAL_ERRATIC), FAMILY(SENSOR_CIRCUIT), NULL},
    {"shifted", is_shifted, KIND(SIGNAL_SHIFTED), FAMILY(SENSOR_CIRCUIT), NULL},
    {"shifted within tolerance", is_shifted_within_tolerance, KIND(FREE), FAMILY(FREE), NULL},
    {"scaled", is_scaled, KIND(SIGNAL_SHIFTED), FAMILY(SENSOR_CIRCUIT), NULL},
    {"idles", idles, KIND(UNDECIDED), FAMILY(UNDECIDED), "less than 20 %"},
    {"moved once", moved_once, KIND(UNDECIDED), FAMILY(UNDECIDED), "four openings"},
    {"no command", no_command, KIND(UNDECIDED), FAMILY(UNDECIDED), "command was not recorded"},
    {"turned by hand", turned_by_hand, KIND(UNDECIDED), FAMILY(UNDECIDED), "as a hand sweep"},
    {"one stop off", one_stop_off_other_unseen, KIND(UNDECIDED), FAMILY(UNDECIDED), "one stop"},
    {"at the limit", lag_at_its_limit, KIND(UNDECIDED), FAMILY(UNDECIDED), "limit"},
    {"at rest", at_rest, KIND(UNDECIDED), FAMILY(UNDECIDED), "resting level"},
};

static void print(const char *name, const platelag_finding *finding) {
  print_message("%-26s %-14s %-14s free %.3f mech %.3f sensor %.3f drive %.3f (%s %.3f)\n", name,
                platelag_finding_name(finding->kind), platelag_family_name(finding->family),
                finding->probability[0], finding->probability[1], finding->probability[2],
                finding->probability[3], finding->hypothesis[0].name,
                finding->hypothesis[0].probability);
  print_message("    %s\n", finding->sentence);
}

static void each_fault_gets_its_finding(void **state) {
  (void)state;
  size_t wrong = 0;
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    plag_test_record record;
    plag_test_make_healthy(&record);
    row[i].change(&record);
    platelag_finding *finding = NULL;
    platelag_error error = {0};
    assert_int_equal(
        platelag_finding_judge(&record.fit, &record.trace, &record.spec, NULL, &finding, &error),
        PLATELAG_OK);
    print(row[i].name, finding);
    bool right = finding->kind == row[i].kind && finding->family == row[i].family;
    if (row[i].lacking != NULL)
      right = right && finding->lacking_count > 0 &&
              strstr(finding->lacking[0], row[i].lacking) != NULL;
    else
      right = right && finding->lacking_count == 0;
    if (!right)
      print_message("    ^ expected %s, %s\n", platelag_finding_name(row[i].kind),
                    platelag_family_name(row[i].family));
    wrong += !right;
    double sum = 0;
    for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
      sum += finding->probability[f];
    assert_close(sum, 1, 0, 1e-9);
    assert_true(finding->kind == PLATELAG_FINDING_UNDECIDED || finding->evidence_count > 0);
    for (size_t e = 0; e < finding->evidence_count; e++) {
      assert_true(finding->evidence[e].weight >= 0);
      assert_true(e == 0 || finding->evidence[e].weight <= finding->evidence[e - 1].weight);
    }
    platelag_finding_destroy(finding);
  }
  assert_int_equal(wrong, 0);
}

/* Limits at the ends of what a spec may say: odd, but no reason for figures that are none, nor for
 * a check that fails on a healthy signal. */
static void odd_limits_leave_sane_probabilities(void **state) {
  (void)state;
  static const struct {
    const char *what;
    size_t offset; /* in platelag_valve_spec */
    double limit;
  } odd[] = {
      {"no tolerance", offsetof(platelag_valve_spec, tolerance_v), 0},
      {"wide tolerance", offsetof(platelag_valve_spec, tolerance_v), 2.04}, /* 80 % of travel */
      {"no hold time", offsetof(platelag_valve_spec, hold_time_s), 0},
      {"no t63", offsetof(platelag_valve_spec, t63_limit_s), 0},
      {"no stick band", offsetof(platelag_valve_spec, stick_band_limit_pct), 0},
      {"no short travel", offsetof(platelag_valve_spec, short_travel_limit_pct), 0},
      {"any short travel", offsetof(platelag_valve_spec, short_travel_limit_pct), 95},
  };
  for (size_t i = 0; i < sizeof odd / sizeof odd[0]; i++) {
    plag_test_record record;
    plag_test_make_healthy(&record);
    memcpy((char *)&record.spec + odd[i].offset, &odd[i].limit, sizeof odd[i].limit);
    platelag_finding *finding = NULL;
    assert_int_equal(
        platelag_finding_judge(&record.fit, &record.trace, &record.spec, NULL, &finding, NULL),
        PLATELAG_OK);
    double sum = 0;
    for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
      sum += finding->probability[f];
    if (!(fabs(sum - 1) < 1e-9))
      fail_msg("%s: probabilities add up to %g", odd[i].what, sum);
    for (int k = PLATELAG_CHECK_CONTINUITY; k <= PLATELAG_CHECK_RANGE; k++)
      if (finding->check[k].result != PLATELAG_CHECK_PASSED)
        fail_msg("%s: %s: %s", odd[i].what, platelag_check_kind_name((platelag_check_kind)k),
                 finding->check[k].figure);
    platelag_finding_destroy(finding);
  }
}

/* Off the manifold there is nothing to stick and nothing that drives: whatever a sweep shows, it is
 * no word about plates or drive. */
static void a_sweep_by_hand_speaks_of_the_sensor_alone(void **state) {
  (void)state;
  static const struct {
    double span_pct;
    size_t spots;
  } sweeps[] = {{131.7, 5}, {180.4, 0}, {17.3, 0}};
  for (size_t i = 0; i < sizeof sweeps / sizeof sweeps[0]; i++) {
    plag_test_record record;
    plag_test_make_healthy(&record);
    plag_test_sweep(&record, sweeps[i].span_pct, sweeps[i].spots);
    platelag_finding *finding = NULL;
    assert_int_equal(
        platelag_finding_judge(&record.fit, &record.trace, &record.spec, NULL, &finding, NULL),
        PLATELAG_OK);
    assert_close(finding->probability[PLATELAG_FAMILY_MECHANICAL], 0, 0, 0);
    assert_close(finding->probability[PLATELAG_FAMILY_DRIVE], 0, 0, 0);
    assert_close(finding->probability[PLATELAG_FAMILY_FREE] +
                     finding->probability[PLATELAG_FAMILY_SENSOR_CIRCUIT],
                 1, 0, 1e-9);
    platelag_finding_destroy(finding);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_sweep_by_hand_speaks_of_the_sensor_alone),
      cmocka_unit_test(each_fault_gets_its_finding),
      cmocka_unit_test(odd_limits_leave_sane_probabilities),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
