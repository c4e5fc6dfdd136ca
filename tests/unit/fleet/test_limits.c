/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Limits are learned from enough healthy valves of an engine family, each valve counted once, and
 * never against a spec. Medians and spreads by hand. */
#include "support/check.h"
#include "support/made_store.h"

#include <stdio.h>
#include <string.h>

#include "fleet/calendar.h"
#include "platelag/fleet.h"

static plag_test_store made;

static const double WIDE[] = {2.1, 2.4, 2.2, 2.9, 2.5, 2.3, 2.6, 2.75};       /* median 2.45 */
static const double NARROW[] = {5.0, 5.02, 5.01, 4.99, 5.0, 5.03, 4.98, 5.0}; /* median 5.0 */

static void put_valves(const char *engine, const char *front, const double *stick_band_pct,
                       size_t count) {
  for (size_t i = 0; i < count; i++) {
    char name[32];
    (void)snprintf(name, sizeof name, "%s-%zu", front, i);
    const plag_test_log log = {.vehicle = name,
                               .engine = engine,
                               .date = "2026-03-14",
                               .stick_band_pct = stick_band_pct[i]};
    plag_test_store_put(&made, &log, 1);
  }
}

static void put_family(const char *engine, const double *stick_band_pct, size_t count) {
  put_valves(engine, engine, stick_band_pct, count);
}

static platelag_fleet *build(const platelag_spec *spec) {
  platelag_fleet *fleet = NULL;
  platelag_error error = {0};
  if (platelag_fleet_build(made.store, spec, &fleet, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  return fleet;
}

/* The only one. */
static const platelag_fleet_limit *limit_of_figure(const platelag_fleet *fleet, const char *engine,
                                                   const char *key) {
  const platelag_fleet_limit *found = NULL;
  for (size_t i = 0; i < fleet->limit_count; i++)
    if (strcmp(platelag_fleet_figure_at(fleet->limit[i].figure)->key, key) == 0 &&
        strcmp(fleet->limit[i].engine, engine) == 0) {
      assert_null(found);
      found = &fleet->limit[i];
    }
  assert_non_null(found);
  return found;
}

static const platelag_fleet_limit *limit_of(const platelag_fleet *fleet, const char *engine) {
  return limit_of_figure(fleet, engine, "stick_band_pct");
}

static const platelag_fleet_valve *valve_of(const platelag_fleet *fleet, const char *vehicle) {
  for (size_t i = 0; i < fleet->valve_count; i++)
    if (strcmp(fleet->valve[i].vehicle, vehicle) == 0)
      return &fleet->valve[i];
  fail_msg("no vehicle %s", vehicle);
  return NULL;
}

/* One family is its own fleet: 1.4826 times the median of how far each is from 2.45, which is 0.2.
 */
static void eight_healthy_valves_teach_a_limit(void **state) {
  (void)state;
  put_family("wide", WIDE, 7);
  platelag_fleet *fleet = build(NULL);
  assert_false(limit_of(fleet, "wide")->learned);
  assert_int_equal(limit_of(fleet, "wide")->logs, 7);
  assert_close(limit_of(fleet, "wide")->limit, 8, 0, 0); /* the default of a spec */
  platelag_fleet_destroy(fleet);
  put_family("wide", WIDE, 8); /* again, in other files: each valve still counts once */
  fleet = build(NULL);
  const platelag_fleet_limit *limit = limit_of(fleet, "wide");
  assert_true(limit->learned);
  assert_int_equal(limit->logs, 8);
  assert_close(limit->median, 2.45, 1e-12, 0);
  assert_close(limit->spread, 1.4826 * 0.2, 1e-9, 0);
  assert_close(limit->limit, 2.45 + 3 * 1.4826 * 0.2, 1e-9, 0);
  for (size_t i = 0; i < fleet->valve_count; i++) {
    assert_close(fleet->valve[i].trend[0].limit, limit->limit, 0, 0);
    assert_true(fleet->valve[i].trend[0].limit_learned);
  }
  platelag_fleet_destroy(fleet);
}

/* Spreads alone are 0.29652 and 0.014826, the fleet's 1.4826 * 0.04 = 0.059304, which counts for
 * five valves: sqrt((8 s^2 + 5 f^2) / 13). */
static void a_small_family_s_spread_leans_on_the_fleet_s(void **state) {
  (void)state;
  put_family("wide", WIDE, 8);
  put_family("narrow", NARROW, 8);
  platelag_fleet *fleet = build(NULL);
  assert_close(limit_of(fleet, "wide")->spread, 0.235499, 1e-5, 0);
  assert_close(limit_of(fleet, "wide")->limit, 3.156497, 1e-5, 0);
  assert_close(limit_of(fleet, "narrow")->spread, 0.0385739, 1e-5, 0);
  assert_close(limit_of(fleet, "narrow")->limit, 5.115722, 1e-5, 0);
  platelag_fleet_destroy(fleet);
}

/* Vehicles of two families in turns, and a figure that is not the first: the same limits as in the
 * test before, and those of t63, 0.1 s and a tenth of each. */
static void families_are_found_in_any_order_and_for_each_figure(void **state) {
  (void)state;
  for (size_t i = 0; i < 8; i++) {
    char name[32];
    (void)snprintf(name, sizeof name, "%zu-a", i);
    plag_test_log log = {.vehicle = name,
                         .engine = "wide",
                         .stick_band_pct = WIDE[i],
                         .closing_t63_s = 0.1 + 0.1 * WIDE[i]};
    plag_test_store_put(&made, &log, 1);
    name[2] = 'b';
    log = (plag_test_log){.vehicle = name,
                          .engine = "narrow",
                          .stick_band_pct = NARROW[i],
                          .closing_t63_s = 0.1 + 0.1 * NARROW[i]};
    plag_test_store_put(&made, &log, 1);
  }
  platelag_fleet *fleet = build(NULL);
  static const struct {
    const char *engine;
    double spread, limit;
  } wanted[] = {{"wide", 0.235499, 3.156497}, {"narrow", 0.0385739, 5.115722}};
  for (size_t k = 0; k < 2; k++) {
    const platelag_fleet_limit *band = limit_of(fleet, wanted[k].engine);
    const platelag_fleet_limit *t63 = limit_of_figure(fleet, wanted[k].engine, "closing_t63_s");
    assert_int_equal(band->logs, 8);
    assert_close(band->spread, wanted[k].spread, 1e-5, 0);
    assert_close(band->limit, wanted[k].limit, 1e-5, 0);
    assert_int_equal(t63->logs, 8);
    assert_close(t63->spread, 0.1 * wanted[k].spread, 1e-5, 0);
    assert_close(t63->limit, 0.1 + 0.1 * wanted[k].limit, 1e-5, 0);
  }
  platelag_fleet_destroy(fleet);
}

/* A t63 of 0.05 s each way has a variance of 0.000924 s2, the valves between them 0.00152: about
 * their mean of 0.374 s each keeps the share of the second in both, 1 - v / s^2 where all vary
 * alike (DerSimonian and Laird's spread between; Efron and Morris's share). */
static void what_is_usual_is_drawn_towards_the_family(void **state) {
  (void)state;
  static const double t63_s[] = {0.31, 0.33, 0.44, 0.42, 0.35, 0.37, 0.41, 0.36};
  double mean_s = 0.0;
  double variance_s2 = 0.0;
  for (size_t i = 0; i < 8; i++)
    mean_s += t63_s[i] / 8.0;
  for (size_t i = 0; i < 8; i++)
    variance_s2 += (t63_s[i] - mean_s) * (t63_s[i] - mean_s) / 7.0;
  const double own_s2 = 0.05 / 1.645 * 0.05 / 1.645;
  for (size_t i = 0; i < 8; i++) {
    char name[32];
    (void)snprintf(name, sizeof name, "v%zu", i);
    const plag_test_log log = {.vehicle = name, .engine = "one", .closing_t63_s = t63_s[i]};
    plag_test_store_put(&made, &log, 1);
  }
  platelag_fleet *fleet = build(NULL);
  const size_t figure = limit_of_figure(fleet, "one", "closing_t63_s")->figure;
  for (size_t i = 0; i < 8; i++) {
    char name[32];
    (void)snprintf(name, sizeof name, "v%zu", i);
    const platelag_fleet_trend *trend = &valve_of(fleet, name)->trend[figure];
    assert_close(trend->now, t63_s[i], 1e-9, 0);
    assert_close(trend->usual, mean_s + (t63_s[i] - mean_s) * (variance_s2 - own_s2) / variance_s2,
                 2e-4, 0);
  }
  platelag_fleet_destroy(fleet);
}

static void valves_without_any_spread_teach_nothing(void **state) {
  (void)state;
  static const double alike[] = {3.1, 3.1, 3.1, 3.1, 3.1, 3.1, 3.1, 3.1, 3.1};
  put_family("alike", alike, 9);
  platelag_fleet *fleet = build(NULL);
  assert_false(limit_of(fleet, "alike")->learned);
  platelag_fleet_destroy(fleet);
}

/* Of a valve of several logs the median of its sound ones; faulty and undecided ones, and those off
 * the road, teach nothing. */
static void only_healthy_logs_on_the_road_teach(void **state) {
  (void)state;
  static const plag_test_log more[] = {
      {.vehicle = "wide-0", .engine = "wide", .stick_band_pct = 2.1},
      {.vehicle = "wide-0", .engine = "wide", .stick_band_pct = 9.9},
      {.vehicle = "wide-1", .engine = "wide", .finding = "sticking", .stick_band_pct = 19},
      {.vehicle = "wide-1", .engine = "wide", .finding = "undecided", .stick_band_pct = 19},
      {.vehicle = "wide-1", .engine = "wide", .condition = "hand_sweep", .stick_band_pct = 19},
      {.vehicle = "x", .engine = "wide", .finding = "sticking", .stick_band_pct = 21}};
  put_family("wide", WIDE, 8);
  plag_test_store_put(&made, more, sizeof more / sizeof *more);
  platelag_fleet *fleet = build(NULL);
  assert_int_equal(limit_of(fleet, "wide")->logs, 8);
  assert_close(limit_of(fleet, "wide")->median, 2.45, 1e-12, 0);
  platelag_fleet_destroy(fleet);
}

static void a_spec_s_limits_stand(void **state) {
  (void)state;
  char path[PLAG_TEST_PATH_BYTES];
  platelag_spec *spec = NULL;
  static const plag_test_log second = {
      .vehicle = "two", .engine = "wide", .valve = "bank 2", .stick_band_pct = 2.4};
  put_family("wide", WIDE, 8);
  plag_test_store_put(&made, &second, 1);
  plag_test_scratch_write(&made.scratch, "spec.ini",
                          "[valve]\nstick_band_limit_pct = 6.5\n"
                          "[valve bank 2]\nstick_band_limit_pct = 7.25\n",
                          0);
  (void)plag_test_scratch_path(&made.scratch, "spec.ini", path);
  assert_int_equal(platelag_spec_read(path, &spec, NULL), PLATELAG_OK);
  platelag_fleet *fleet = build(spec);
  assert_false(limit_of(fleet, "wide")->learned);
  assert_close(limit_of(fleet, "wide")->limit, 6.5, 0, 0);
  assert_close(valve_of(fleet, "wide-3")->trend[0].limit, 6.5, 0, 0);
  assert_close(valve_of(fleet, "two")->trend[0].limit, 7.25, 0, 0);
  assert_false(valve_of(fleet, "two")->trend[0].limit_learned);
  platelag_fleet_destroy(fleet);
  platelag_spec_destroy(spec);
}

/* Beyond a learned limit of some 3.6 %, with the lower ends, 0.4 % less: in the last two logs, or
 * in one of them. */
static void two_logs_beyond_a_learned_limit_are_unusual(void **state) {
  (void)state;
  static const plag_test_log logs[] = {
      {.vehicle = "beyond", .engine = "wide", .date = "2026-03-01", .stick_band_pct = 4.6},
      {.vehicle = "beyond", .engine = "wide", .date = "2026-04-01", .stick_band_pct = 4.9},
      {.vehicle = "near", .engine = "wide", .date = "2026-03-01", .stick_band_pct = 4.6},
      {.vehicle = "near", .engine = "wide", .date = "2026-04-01", .stick_band_pct = 3.6},
      {.vehicle = "once", .engine = "wide", .date = "2026-04-01", .stick_band_pct = 5.1},
      {.vehicle = "back", .engine = "wide", .date = "2026-03-01", .stick_band_pct = 5.1},
      {.vehicle = "back", .engine = "wide", .date = "2026-04-01", .stick_band_pct = 2.2}};
  static const char *const fronts[] = {"a", "b", "c"};
  for (size_t i = 0; i < 3; i++)
    put_valves("wide", fronts[i], WIDE, 8);
  plag_test_store_put(&made, logs, sizeof logs / sizeof *logs);
  platelag_fleet *fleet = build(NULL);
  assert_true(limit_of(fleet, "wide")->learned);
  assert_between(limit_of(fleet, "wide")->limit, 3.3, 3.9);
  const platelag_fleet_valve *beyond = valve_of(fleet, "beyond");
  assert_int_equal(beyond->standing, PLATELAG_FLEET_UNUSUAL);
  assert_int_equal(beyond->rank, 1);
  assert_non_null(strstr(beyond->reason[0], "The stick band is 4.9 % of travel in the last log"));
  static const char *const usual[] = {"near", "once", "back", "a-3"};
  for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
    if (valve_of(fleet, usual[i])->standing != PLATELAG_FLEET_SOUND)
      fail_msg("%s is not sound", usual[i]);
  platelag_fleet_destroy(fleet);
}

int main(void) {
#define FRESH(name) plag_test_on_store(name, &made)
  const struct CMUnitTest tests[] = {
      FRESH(eight_healthy_valves_teach_a_limit),
      FRESH(a_small_family_s_spread_leans_on_the_fleet_s),
      FRESH(families_are_found_in_any_order_and_for_each_figure),
      FRESH(what_is_usual_is_drawn_towards_the_family),
      FRESH(valves_without_any_spread_teach_nothing),
      FRESH(only_healthy_logs_on_the_road_teach),
      FRESH(a_spec_s_limits_stand),
      FRESH(two_logs_beyond_a_learned_limit_are_unusual),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
