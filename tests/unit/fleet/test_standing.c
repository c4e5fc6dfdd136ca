/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is to be done about a valve, by its logs: work needs two that agree, repairs begin anew, one
 * log asks for another, a fault that comes and goes is neither work nor sound, and what the logs
 * cannot tell is said so. */
#include "support/check.h"
#include "support/made_store.h"

#include <stdio.h>
#include <string.h>

#include "fleet/calendar.h"
#include "platelag/fleet.h"

static plag_test_store made;

/* Logs of one valve, 30 days apart, a letter each: "." sound, "s" sticking by the plates, "w" slow
 * by the plates, "x" sticking, blame undecided, "h" signal high by the sensor, "u" undecided.
 * Before a letter: "|" a repair in the manifest, "+" taken after a repair, "~" a hand sweep. */
static const struct story {
  const char *logs;
  platelag_fleet_standing standing;
  const char *finding;
  size_t agreeing;
  const char *reason; /* part of one */
} STORIES[] = {
    /* two logs agree: by the finding, or by a family that is decided */
    {"ss", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 2 logs tell of sticking: mechanical"},
    {"sw", PLATELAG_FLEET_WORK, "slow", 2, "2 of the last 2 logs tell of slow: mechanical"},
    {"xx", PLATELAG_FLEET_WORK, "sticking", 2, "tell of sticking, 90 % sure"},
    {"xs", PLATELAG_FLEET_WORK, "sticking", 2, "tell of sticking"},
    {"...ss", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 5 logs"},
    {"s.s", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 3 logs"},
    {"ssh", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 3 logs tell of sticking"},
    {"hss", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 3 logs tell of sticking"},
    {"hhss", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 4 logs tell of sticking"},
    /* logs that cannot tell clear nobody, and push nothing out of sight */
    {"ssuuuuuuu", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 9 logs"},
    {"suus", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 4 logs"},
    /* one log alone, or two that tell of different things */
    {"s", PLATELAG_FLEET_AGAIN, "sticking", 1, "The only log tells of sticking"},
    {"..s", PLATELAG_FLEET_AGAIN, "sticking", 1, "One log is no ground for work"},
    {"sh", PLATELAG_FLEET_AGAIN, "signal_high", 1, "1 of the last 2 logs tells of signal high"},
    {"xh", PLATELAG_FLEET_AGAIN, "signal_high", 1, "One log is no ground"},
    {"su", PLATELAG_FLEET_AGAIN, "sticking", 1, "1 of the last 2 logs tells"},
    {"s.", PLATELAG_FLEET_AGAIN, "sticking", 1, "one since is sound, so it comes and goes"},
    /* it comes and goes: one sound log stops no work, two do, and make nobody sound */
    {"ss.", PLATELAG_FLEET_WORK, "sticking", 2, "one since is sound, so it comes and goes"},
    {"ssu.", PLATELAG_FLEET_WORK, "sticking", 2, "one since is sound"},
    {"sss..", PLATELAG_FLEET_AGAIN, "sticking", 3, "2 since are sound, so it comes and goes"},
    {"ss...", PLATELAG_FLEET_AGAIN, "sticking", 2, "driving as in the logs that tell of it"},
    {"ss.u.", PLATELAG_FLEET_AGAIN, "sticking", 2, "2 since are sound"},
    {"sss.....", PLATELAG_FLEET_SOUND, "free", 0, "It is free."},
    {"ss..s", PLATELAG_FLEET_WORK, "sticking", 3, "3 of the last 5 logs"},
    /* one log that sound ones did not confirm */
    {"s..", PLATELAG_FLEET_SOUND, "free", 0, "One log told of sticking; 2 since are sound."},
    {"s.u.", PLATELAG_FLEET_SOUND, "free", 0, "One log told of sticking"},
    /* repairs: before them nothing counts */
    {"sss|.", PLATELAG_FLEET_SOUND, "free", 0, "Counted from the repair of"},
    {"sss+.", PLATELAG_FLEET_SOUND, "free", 0, "taken after a repair"},
    {"sss|+.", PLATELAG_FLEET_SOUND, "free", 0, "Counted from the repair of"},
    {"ss|s", PLATELAG_FLEET_AGAIN, "sticking", 1, "The only log tells of sticking"},
    {"ss+s", PLATELAG_FLEET_AGAIN, "sticking", 1, "The only log"},
    {"ss|s+s", PLATELAG_FLEET_WORK, "sticking", 2,
     "2 of the last 2 logs"}, /* one repair, told twice */
    {"ss+s+s", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 2 logs"},
    {"ss|s.+s", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 3 logs"},
    {"ss|+s.+s", PLATELAG_FLEET_AGAIN, "sticking", 1, "taken after a repair"},
    {"|ss", PLATELAG_FLEET_WORK, "sticking", 2, "Counted from the repair of"},
    {"sss|", PLATELAG_FLEET_AGAIN, "undecided", 0, "No log since."},
    {"...|", PLATELAG_FLEET_AGAIN, "undecided", 0, "Record one, to see whether the repair helped."},
    {"ss|u", PLATELAG_FLEET_UNCLEAR, "undecided", 0, "It is undecided."},
    /* what cannot tell */
    {"u", PLATELAG_FLEET_UNCLEAR, "undecided", 0, "It is undecided."},
    {"uuuu", PLATELAG_FLEET_UNCLEAR, "undecided", 0, "None of the last 3 logs can tell."},
    {"..uuu", PLATELAG_FLEET_UNCLEAR, "undecided", 0, "None of the last 3 logs can tell."},
    {".uu", PLATELAG_FLEET_SOUND, "free", 0, "It is undecided."},
    {"~s~s", PLATELAG_FLEET_UNCLEAR, "undecided", 0, "No log of the present series was taken on"},
    {"~ss", PLATELAG_FLEET_AGAIN, "sticking", 1, "The only log"},
    {"ss~.", PLATELAG_FLEET_WORK, "sticking", 2, "2 of the last 2 logs"},
    {".", PLATELAG_FLEET_SOUND, "free", 0, "It is free."},
    {".....", PLATELAG_FLEET_SOUND, "free", 0, "It is free."},
};

static const char *finding_of(char letter) {
  switch (letter) {
  case 's':
  case 'x':
    return "sticking";
  case 'w':
    return "slow";
  case 'h':
    return "signal_high";
  case 'u':
    return "undecided";
  default:
    return "free";
  }
}

static const char *family_of(char letter) {
  switch (letter) {
  case 's':
  case 'w':
    return "mechanical";
  case 'h':
    return "sensor_circuit";
  case '.':
    return "free";
  default:
    return "undecided";
  }
}

static void tell_story(const char *vehicle, const char *logs) {
  char date[PLAG_DATE_BYTES];
  plag_test_log log = {.vehicle = vehicle, .date = date};
  int64_t at = INT64_C(1700000000);
  plag_text repairs = {0};
  for (const char *letter = logs; *letter != '\0'; letter++) {
    if (*letter == '|') {
      (void)plag_date_format(at, date);
      plag_text_add_format(&repairs, "%s,%s,,plates cleaned\n", date, vehicle);
    } else if (*letter == '+') {
      log.condition = "after";
    } else if (*letter == '~') {
      log.condition = "hand_sweep";
    } else {
      at += INT64_C(30) * PLAG_DAY_SECONDS;
      (void)plag_date_format(at, date);
      log.finding = finding_of(*letter);
      log.family = family_of(*letter);
      plag_test_store_put(&made, &log, 1);
      log.condition = NULL;
    }
    if (*letter == '|')
      at += PLAG_DAY_SECONDS;
  }
  if (repairs.length > 0)
    plag_test_store_repair(&made, repairs.bytes);
  plag_text_clear(&repairs);
}

static platelag_fleet *build(void) {
  platelag_fleet *fleet = NULL;
  platelag_error error = {0};
  if (platelag_fleet_build(made.store, NULL, &fleet, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  return fleet;
}

static bool gives_reason(const platelag_fleet_valve *valve, const char *part) {
  for (size_t i = 0; i < valve->reason_count; i++)
    if (strstr(valve->reason[i], part) != NULL)
      return true;
  return false;
}

static void stories_come_to_their_standings(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof STORIES / sizeof *STORIES; i++) {
    const struct story *story = &STORIES[i];
    plag_test_store_open(&made);
    tell_story("17", story->logs);
    platelag_fleet *fleet = build();
    assert_int_equal(fleet->valve_count, 1);
    const platelag_fleet_valve *valve = &fleet->valve[0];
    if (valve->standing != story->standing ||
        strcmp(platelag_finding_name(valve->finding), story->finding) != 0 ||
        valve->agreeing != story->agreeing || !gives_reason(valve, story->reason)) {
      for (size_t k = 0; k < valve->reason_count; k++)
        print_message("  %s\n", valve->reason[k]);
      fail_msg("%s: %s, %s, %zu agree", story->logs, platelag_fleet_standing_name(valve->standing),
               platelag_finding_name(valve->finding), valve->agreeing);
    }
    assert_int_equal(isnan(valve->probability), story->agreeing == 0);
    if (story->agreeing > 0)
      assert_between(valve->probability, 0.46, 0.91); /* xs: the family of one log alone */
    platelag_fleet_destroy(fleet);
    plag_test_store_close(&made);
  }
}

static void steady_faults_stand_before_those_that_come_and_go(void **state) {
  (void)state;
  static const struct {
    const char *vehicle, *logs;
  } FLEET[] = {{"k sound", "..."},  {"a goes", "sss."},       {"j unclear", "u"},
               {"b steady", ".ss"}, {"f awaits", "ss|"},      {"c lone", "s"},
               {"d went", "sss.."}, {"e steady too", "..sss"}};
  static const char *const order[] = {"e steady too", "b steady", "a goes",    "c lone",
                                      "d went",       "f awaits", "j unclear", "k sound"};
  for (size_t i = 0; i < 8; i++)
    tell_story(FLEET[i].vehicle, FLEET[i].logs);
  plag_test_store_repair(&made, "2025-01-01,f awaits,,plates cleaned\n");
  platelag_fleet *fleet = build();
  assert_int_equal(fleet->valve_count, 8);
  for (size_t i = 0; i < 8; i++) {
    assert_int_equal(fleet->valve[i].rank, i + 1);
    if (strcmp(fleet->valve[i].vehicle, order[i]) != 0)
      fail_msg("place %zu: %s", i + 1, fleet->valve[i].vehicle);
  }
  platelag_fleet_destroy(fleet);
}

/* Sound logs whose stick band grows by 0.55 % every ten days: none is faulty, the trend is plain.
 */
static void a_trend_alone_is_growing_worse(void **state) {
  (void)state;
  for (int vehicle = 0; vehicle < 12; vehicle++)
    for (int i = 0; i < 10; i++) {
      char name[12];
      char date[PLAG_DATE_BYTES];
      (void)snprintf(name, sizeof name, "%d", vehicle);
      (void)plag_date_format(INT64_C(1750000000) + INT64_C(864000) * i, date);
      const double wobble = 0.1 * (double)((7 * i + 3 * vehicle) % 5 - 2);
      const plag_test_log log = {.vehicle = name,
                                 .date = date,
                                 .stick_band_pct = 2.4 + wobble + (vehicle == 5 ? 0.55 * i : 0)};
      plag_test_store_put(&made, &log, 1);
    }
  platelag_fleet *fleet = build();
  const platelag_fleet_valve *first = &fleet->valve[0];
  assert_string_equal(first->vehicle, "5");
  assert_int_equal(first->standing, PLATELAG_FLEET_WORSE);
  assert_int_equal(first->finding, PLATELAG_FINDING_FREE);
  assert_between(first->q, 0, 0.05);
  assert_close(first->trend[0].slope_a_year, 0.055 * 365.25, 0.1, 0);
  assert_true(gives_reason(first, "The stick band grows by "));
  assert_true(gives_reason(first, "of such valves, "));
  for (size_t i = 1; i < fleet->valve_count; i++)
    assert_true(fleet->valve[i].standing > PLATELAG_FLEET_AGAIN);
  platelag_fleet_destroy(fleet);
}

/* A fall is told as one: the ends of its slope as it falls. */
static void a_fall_is_told_as_it_falls(void **state) {
  (void)state;
  for (int i = 0; i < 8; i++) {
    char date[PLAG_DATE_BYTES];
    (void)plag_date_format(INT64_C(1750000000) + INT64_C(8640000) * i, date);
    const plag_test_log log = {.vehicle = "17", .date = date, .span_v = 2.5 - 0.2 * i};
    plag_test_store_put(&made, &log, 1);
  }
  platelag_fleet *fleet = build();
  const platelag_fleet_valve *valve = &fleet->valve[0];
  assert_int_equal(valve->standing, PLATELAG_FLEET_WORSE);
  if (!gives_reason(valve, "The span between the stops falls by 0.73 V a year (0.7") ||
      !gives_reason(valve, "chance alone does that in less than 0.1 %"))
    fail_msg("%s", valve->reason[0]);
  platelag_fleet_destroy(fleet);
}

/* Only logs with a date make a trend, and those before a repair do not. */
static void undated_logs_and_those_before_a_repair_make_no_trend(void **state) {
  (void)state;
  for (int i = 0; i < 16; i++) {
    char date[PLAG_DATE_BYTES];
    (void)plag_date_format(INT64_C(1750000000) + INT64_C(864000) * i, date);
    const plag_test_log log = {.vehicle = i < 8 ? "undated" : "repaired",
                               .date = i < 8 ? NULL : date,
                               .stick_band_pct = 2.0 + i % 8};
    plag_test_store_put(&made, &log, 1);
  }
  char day[PLAG_DATE_BYTES];
  char repairs[128];
  (void)plag_date_format(INT64_C(1750000000) + INT64_C(864000) * 12, day);
  (void)snprintf(repairs, sizeof repairs, "%s,repaired,,plates cleaned\n", day);
  plag_test_store_repair(&made, repairs);
  platelag_fleet *fleet = build();
  for (size_t i = 0; i < fleet->valve_count; i++) {
    const platelag_fleet_valve *valve = &fleet->valve[i];
    const bool repaired = strcmp(valve->vehicle, "repaired") == 0;
    assert_int_equal(valve->standing, PLATELAG_FLEET_SOUND);
    assert_int_equal(valve->trend[0].logs, repaired ? 3 : 8);
    assert_int_equal(valve->series_logs, repaired ? 3 : 8);
    assert_int_equal(isnan(valve->p), !repaired);
    assert_close(valve->trend[0].now, 9, 0, 0); /* the last log, dated or not */
  }
  assert_int_equal(fleet->undated, 8);
  platelag_fleet_destroy(fleet);
}

int main(void) {
#define FRESH(name) plag_test_on_store(name, &made)
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(stories_come_to_their_standings),
      FRESH(steady_faults_stand_before_those_that_come_and_go),
      FRESH(a_trend_alone_is_growing_worse),
      FRESH(a_fall_is_told_as_it_falls),
      FRESH(undated_logs_and_those_before_a_repair_make_no_trend),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
