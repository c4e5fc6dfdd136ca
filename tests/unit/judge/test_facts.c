/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The facts that findings are scored on, from records made by hand: which are there, and their
 * figures; above all those of plates that stand, where few facts must do. */
#include "support/check.h"

#include <math.h>

#include "judge/facts.h"
#include "judge/facts_parts.h"
#include "support/made_fit.h"

static plag_facts take(const plag_test_record *record) {
  plag_facts facts;
  plag_facts_take(&record->fit, &record->trace, &record->spec, &facts);
  return facts;
}

/* How much of what is known of a figure lies above a limit, here 15.3: all of a bracket that begins
 * there, no more than half of one that does not, however far it reaches. */
static void what_lies_above_a_limit(void **state) {
  (void)state;
  static const struct {
    platelag_estimate known;
    double above;
  } rows[] = {
      {{PLATELAG_KNOWN_VALUE, 15.3, 13.1, 17.9}, 0.5},
      {{PLATELAG_KNOWN_VALUE, 23.85, 21.93, 25.81}, 1.0},
      {{PLATELAG_KNOWN_VALUE, 4.37, 4.02, 4.91}, 0.0},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 10.7}, 0.0},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 20.4}, 0.25},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 91.8}, 0.5},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, NAN, NAN}, 0.5},
      {{PLATELAG_KNOWN_BRACKET, NAN, 9.3, 17.3}, 0.25},
      {{PLATELAG_KNOWN_BRACKET, NAN, 9.3, 61.7}, 0.5},
      {{PLATELAG_KNOWN_BRACKET, NAN, 31.62, 44.18}, 1.0},
      {{PLATELAG_KNOWN_BRACKET, NAN, 9.3, 12.1}, 0.0},
      {{PLATELAG_KNOWN_BRACKET, NAN, 12.1, 12.1}, 0.0},
      {{PLATELAG_KNOWN_BRACKET, NAN, 31.62, NAN}, 1.0},
      {{PLATELAG_KNOWN_BRACKET, NAN, 9.3, NAN}, 0.5},
      {{PLATELAG_KNOWN_LOWER_LIMIT, NAN, 29.27, NAN}, 1.0},
      {{PLATELAG_KNOWN_LOWER_LIMIT, NAN, 9.3, NAN}, 0.5},
      {{PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN}, 0.5},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    assert_close(plag_facts_above(&rows[i].known, 15.3), rows[i].above, 0, 1e-3);
}

/* Plates that stand: how far from the nearest stop, and whether the reading still dithers, which is
 * its noise, and none where readings repeat themselves to the last digit. */
static void standing_plates(void **state) {
  (void)state;
  static const struct {
    double travel_pct;
    bool dither;
    double gap_pct, noise_pct;
  } rows[] = {{7.3, true, 7.3, 0.39}, {88.6, true, 11.4, 0.39}, {47.1, false, 47.1, 0.0}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    static plag_test_record record;
    plag_test_make_healthy(&record);
    plag_test_stand_still(&record, rows[i].travel_pct, rows[i].dither);
    const plag_facts facts = take(&record);
    assert_true(facts.commanded);
    assert_false(facts.moved);
    const plag_fact *gap = &facts.fact[PLAG_FEATURE_REST_GAP];
    const plag_fact *dither = &facts.fact[PLAG_FEATURE_STILL_DITHER];
    assert_true(gap->present && dither->present);
    assert_close(gap->value, rows[i].gap_pct, 0, 1e-9);
    assert_close(dither->value, rows[i].noise_pct, 0, 1e-9);
  }
}

/* They are no facts of plates that move, of a command that stands, nor of a signal at its rail. */
static void no_facts_of_standing_plates_elsewhere(void **state) {
  (void)state;
  for (int kind = 0; kind < 3; kind++) {
    static plag_test_record record;
    plag_test_make_healthy(&record);
    if (kind == 1)
      plag_test_pin_high(&record, 98.9, 0.0);
    if (kind == 2) {
      plag_test_stand_still(&record, 47.1, true);
      record.fit.coverage.command_span_pct = PLAG_STILL_SPAN_PCT - 0.1;
    }
    const plag_facts facts = take(&record);
    assert_false(facts.fact[PLAG_FEATURE_REST_GAP].present);
    assert_false(facts.fact[PLAG_FEATURE_STILL_DITHER].present);
    assert_int_equal(facts.moved, kind == 0);
    assert_int_equal(facts.railed, kind == 1);
    assert_int_equal(facts.commanded, kind != 2);
  }
}

/* The chance that a quantity is above a limit, by its interval: normal where it is a value, from
 * 5 % at its upper end; bounds tell on one side only. */
static void chance_above_a_limit(void **state) {
  (void)state;
  const platelag_estimate value = {PLATELAG_KNOWN_VALUE, 0.52, 0.44, 0.60};
  assert_close(plag_facts_above(&value, 0.52), 0.5, 0, 1e-9);
  assert_close(plag_facts_above(&value, 0.60), 0.05, 0, 1e-4);
  assert_close(plag_facts_above(&value, 0.44), 0.95, 0, 1e-4);
  assert_true(plag_facts_above(&value, 0.90) < 1e-6);
  assert_true(plag_facts_above(&value, 0.10) > 1 - 1e-6);
}

/* A held interval counts by what was pulled: what the drive asked where that is known; beside a
 * stop twice the limit; never where % open cuts off, nor where plates always end short. */
static void pulls_that_count(void **state) {
  (void)state;
  static const struct {
    const char *what;
    double place_pct, pull_pct, effort_pct, rest_open_pct;
    platelag_level_unit unit;
    bool counts;
  } rows[] = {
      {"more than the limit", 41.3, 16.1, NAN, 100.0, PLATELAG_LEVEL_VOLT, true},
      {"to close", 41.3, -16.1, NAN, 100.0, PLATELAG_LEVEL_VOLT, true},
      {"less", 41.3, 14.7, NAN, 100.0, PLATELAG_LEVEL_VOLT, false},
      {"more, the drive asked less", 41.3, 16.1, 14.7, 100.0, PLATELAG_LEVEL_VOLT, false},
      {"less, the drive asked more", 41.3, 3.7, -17.9, 100.0, PLATELAG_LEVEL_VOLT, true},
      {"at a stop", 2.3, 29.9, NAN, 100.0, PLATELAG_LEVEL_VOLT, false},
      {"at a stop, by more than twice", 97.7, -31.3, NAN, 100.0, PLATELAG_LEVEL_VOLT, true},
      {"at an end of % open", 97.7, -61.7, NAN, 100.0, PLATELAG_LEVEL_PCT_OPEN, false},
      {"between the ends of % open", 41.3, 16.1, NAN, 100.0, PLATELAG_LEVEL_PCT_OPEN, true},
      {"where they always end", 71.9, 22.7, NAN, 73.1, PLATELAG_LEVEL_VOLT, false},
      {"below where they always end", 61.3, 22.7, NAN, 73.1, PLATELAG_LEVEL_VOLT, true},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    static plag_test_record record;
    plag_test_make_healthy(&record);
    record.spec.stick_band_limit_pct = 15.3;
    record.trace.level_unit = rows[i].unit;
    record.fit.travel.rest_open_pct = rows[i].rest_open_pct;
    plag_test_hold(&record, 1, rows[i].place_pct, 0.0);
    record.held[0].position_pct = rows[i].place_pct;
    record.held[0].pull_pct = rows[i].pull_pct;
    record.held[0].effort_pull_pct = rows[i].effort_pct;
    const plag_facts facts = take(&record);
    if (facts.held_beyond != (rows[i].counts ? 1 : 0))
      fail_msg("%s: %g", rows[i].what, facts.held_beyond);
  }
}

/* Under a controller the map is bent: the pull is from the desired position, where it is less. */
static void pulls_by_a_desired_position(void **state) {
  (void)state;
  static const struct {
    double place_pct, command_pct, pull_pct;
    bool counts;
  } rows[] = {
      {60.0, 65.0, 25.0, false}, /* the map has 65 at a command of 70: 10 away */
      {51.0, 65.0, 25.0, true},  /* 19 away */
      {51.0, 65.0, 14.0, false}, /* less by the map */
      {31.0, 20.0, -19.0, true}, /* lowest command: 10 */
      {23.0, 20.0, -19.0, false}, {51.0, 91.0, 25.0, true}, /* beyond the map: as the map has it */
      {2.3, 65.0, 60.0, false}, /* a controller that has run past a stop */
  };
  static const platelag_channel desired = {.unit = PLATELAG_UNIT_PERCENT};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    static plag_test_record record;
    plag_test_make_healthy(&record);
    record.spec.stick_band_limit_pct = 15.3;
    record.trace.command_kind = PLATELAG_COMMAND_DESIRED;
    record.trace.command = &desired;
    record.trace.command_lowest = 10.0;
    record.fit.map_knots = 2;
    record.fit.map_command[0] = 10.0;
    record.fit.map_command[1] = 90.0;
    record.fit.map_pct[0] = record.fit.map_low_pct = 20.0;
    record.fit.map_pct[1] = record.fit.map_high_pct = 80.0;
    plag_test_hold(&record, 1, rows[i].place_pct, 0.0);
    record.held[0].position_pct = rows[i].place_pct;
    record.held[0].command_pct = rows[i].command_pct;
    record.held[0].pull_pct = rows[i].pull_pct;
    record.held[0].effort_pull_pct = NAN;
    const plag_facts facts = take(&record);
    if (facts.held_beyond != (rows[i].counts ? 1 : 0))
      fail_msg("at %g %%: %g", rows[i].place_pct, facts.held_beyond);
  }
}

/* Schwarz's criterion, halved and turned: log likelihood - 1/2 parameters ln(samples), by hand. */
static void a_description_pays_for_its_parameters(void **state) {
  (void)state;
  const platelag_score settled = {PLATELAG_CONVERGED, -812.375, 5, 0.87, 341.0};
  assert_close(plag_facts_bic(&settled), -812.375 - 2.5 * 5.831882477, 0, 1e-6);
  static const platelag_score nothing[] = {{PLATELAG_NO_DATA, -812.375, 5, 0.87, 341.0},
                                           {PLATELAG_DIVERGED, -812.375, 5, 0.87, 341.0},
                                           {PLATELAG_CONVERGED, NAN, 5, 0.87, 341.0},
                                           {PLATELAG_CONVERGED, -812.375, 5, 0.87, 1.0}};
  for (size_t i = 0; i < sizeof nothing / sizeof nothing[0]; i++)
    assert_true(isnan(plag_facts_bic(&nothing[i])));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_description_pays_for_its_parameters),
      cmocka_unit_test(what_lies_above_a_limit),
      cmocka_unit_test(pulls_that_count),
      cmocka_unit_test(pulls_by_a_desired_position),
      cmocka_unit_test(standing_plates),
      cmocka_unit_test(no_facts_of_standing_plates_elsewhere),
      cmocka_unit_test(chance_above_a_limit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
