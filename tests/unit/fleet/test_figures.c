/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each figure of the fleet is what the fit says of it, with its interval, and nothing where the
 * record does not show it. */
#include "support/check.h"
#include "support/made_fit.h"

#include <string.h>

#include "fleet/figures.h"

static plag_test_record record;

static platelag_estimate measure(const char *key) {
  const platelag_review_valve valve = {&record.trace, &record.fit, NULL, record.spec, 0};
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    if (strcmp(platelag_fleet_figure_at(i)->key, key) == 0)
      return plag_figure_at(i)->measure(&valve);
  fail_msg("no figure %s", key);
  return (platelag_estimate){0};
}

/* The healthy valve of support/made_fit.c: 1.20 to 3.75 V, resting at 0.9 and 98.7 % of travel,
 * noise 0.41 %, 599.9 s. Voltages by hand: 2.55 V for 100 %. */
static const struct shown {
  const char *key;
  double value, half;
} SHOWN[] = {
    {"opening_t63_s", 0.23, 0.23 * 0.09},
    {"closing_t63_s", 0.31, 0.31 * 0.09},
    {"span_v", 0.0255 * (98.7 - 0.9), 1.4142 * 1.645 * 0.41 * 0.0255},
    {"closed_v", 1.20 + 0.0255 * 0.9, 1.645 * 0.41 * 0.0255},
    {"open_v", 1.20 + 0.0255 * 98.7, 1.645 * 0.41 * 0.0255},
    {"held_pct", 0, 0},
};

static void a_healthy_valve_shows_its_figures(void **state) {
  (void)state;
  plag_test_make_healthy(&record);
  for (size_t i = 0; i < sizeof SHOWN / sizeof *SHOWN; i++) {
    const platelag_estimate of = measure(SHOWN[i].key);
    if (of.known != PLATELAG_KNOWN_VALUE)
      fail_msg("%s is not known", SHOWN[i].key);
    assert_close(of.value, SHOWN[i].value, 1e-9, 1e-12);
    assert_close(of.low, SHOWN[i].value - SHOWN[i].half, 1e-3, 1e-12);
    assert_close(of.high, SHOWN[i].value + SHOWN[i].half, 1e-3, 1e-12);
  }
  assert_int_equal(measure("stick_band_pct").known, PLATELAG_KNOWN_UPPER_LIMIT);
  assert_close(measure("stick_band_pct").high, 2.9, 0, 0);
  record.fit.friction.moving_pct = (platelag_estimate){PLATELAG_KNOWN_VALUE, 3.47, 3.11, 3.83};
  assert_close(measure("moving_friction_pct").value, 3.47, 0, 0);
  assert_close(measure("moving_friction_pct").low, 3.11, 0, 0);
}

static void an_inverted_sensor_has_a_span_too(void **state) {
  (void)state;
  plag_test_make_healthy(&record);
  record.fit.travel.closed_v = 3.75;
  record.fit.travel.open_v = 1.20;
  const platelag_estimate span = measure("span_v");
  assert_close(span.value, 0.0255 * 97.8, 1e-9, 0);
  assert_true(span.low < span.value && span.value < span.high);
  const platelag_estimate closed = measure("closed_v");
  assert_close(closed.value, 3.75 - 0.0255 * 0.9, 1e-9, 0);
  assert_true(closed.low < closed.value && closed.value < closed.high);
}

/* Exact 90 % intervals of a Poisson count (Garwood; half the 5 % and 95 % points of chi-square with
 * 2n and 2n + 2 degrees of freedom, tables): 0: 0 to 3.00, 1: 0.05 to 4.74, 5: 1.97 to 10.51,
 * 20: 13.25 to 29.06. */
static void void_readings_have_a_count_s_interval(void **state) {
  (void)state;
  static const struct {
    size_t count;
    double low, high;
  } COUNTS[] = {{0, 0, 3.00}, {1, 0.05, 4.74}, {5, 1.97, 10.51}, {20, 13.25, 29.06}};
  plag_test_make_healthy(&record);
  record.fit.coverage.recorded_s = 150; /* 2.5 minutes */
  for (size_t i = 0; i < sizeof COUNTS / sizeof *COUNTS; i++) {
    record.fit.signal.void_count = COUNTS[i].count;
    const platelag_estimate of = measure("void_a_minute");
    assert_close(of.value, (double)COUNTS[i].count / 2.5, 1e-9, 0);
    assert_close(of.low, COUNTS[i].low / 2.5, 0.03, 0.02);
    assert_close(of.high, COUNTS[i].high / 2.5, 0.11, 0);
  }
}

static void what_the_record_does_not_show_is_nothing(void **state) {
  (void)state;
  plag_test_make_healthy(&record);
  record.fit.travel.open_asked = false;
  record.fit.coverage.recorded_s = 0;
  record.fit.coverage.openings = record.fit.coverage.closings = 0;
  static const char *const hidden[] = {"span_v", "open_v", "void_a_minute", "held_pct"};
  for (size_t i = 0; i < sizeof hidden / sizeof *hidden; i++)
    if (measure(hidden[i]).known != PLATELAG_KNOWN_NOTHING)
      fail_msg("%s is known", hidden[i]);
  assert_int_equal(measure("closed_v").known, PLATELAG_KNOWN_VALUE);
  plag_test_make_healthy(&record); /* in % open there are no volts */
  record.fit.travel.closed_v = record.fit.travel.open_v = NAN;
  record.fit.travel.rest_open_pct = NAN;
  record.fit.held_share = NAN;
  static const char *const volts[] = {"span_v", "open_v", "closed_v", "held_pct"};
  for (size_t i = 0; i < sizeof volts / sizeof *volts; i++)
    if (measure(volts[i]).known != PLATELAG_KNOWN_NOTHING)
      fail_msg("%s is known", volts[i]);
}

static void keys_differ_and_limits_are_the_spec_s(void **state) {
  (void)state;
  double shares = 0;
  size_t by_sticking = 0;
  plag_test_make_healthy(&record);
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++) {
    const plag_figure *figure = plag_figure_at(i);
    for (size_t k = 0; k < i; k++)
      assert_string_not_equal(figure->what.key, plag_figure_at(k)->what.key);
    assert_int_equal(figure->limit != NULL, figure->learns_limit);
    assert_true(figure->limit == NULL || figure->worse == PLAG_TREND_UP);
    assert_between(figure->what.decimals, 0, 2);
    assert_true(figure->share > 0);
    shares += figure->share;
    by_sticking += figure->by_sticking;
  }
  assert_close(shares + PLAG_STICKING_SHARE, 1, 0, 1e-12);
  assert_int_equal(by_sticking, PLAG_STICKING_FIGURES);
  assert_close(plag_figure_at(0)->limit(&record.spec), 8, 0, 0);
  assert_close(plag_figure_at(1)->limit(&record.spec), 0.70, 0, 0);
  assert_null(platelag_fleet_figure_at(PLATELAG_FLEET_FIGURES));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_healthy_valve_shows_its_figures),
      cmocka_unit_test(an_inverted_sensor_has_a_span_too),
      cmocka_unit_test(void_readings_have_a_count_s_interval),
      cmocka_unit_test(what_the_record_does_not_show_is_nothing),
      cmocka_unit_test(keys_differ_and_limits_are_the_spec_s),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
