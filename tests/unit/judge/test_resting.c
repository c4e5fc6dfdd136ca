/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What readings do while the command rests, on records whose drift and leaps are known: the trend
 * of the levels at one command, with a controller's duty too; leaps away from where the command
 * asks, and none for what is no leap; how long it rested. */
#include "support/check.h"

#include <math.h>

#include "judge/resting.h"
#include "support/made_random.h"
#include "support/made_trace.h"

enum { STRETCHES = 60, ROWS_EACH = 61, ROWS = STRETCHES * ROWS_EACH };
#define ROW_S 0.1

typedef struct record {
  double time_s[ROWS], command[ROWS], level[ROWS], duty[ROWS];
  platelag_fit fit;
} record;

/* Six seconds at a command, then at another, asked for as it is by the map; free plates with a
 * noise of 0.1 %. */
static void begin(record *of) {
  plag_test_random random = {66041};
  *of = (record){.fit = {.map_knots = 2, .map_command = {10.0, 90.0}, .map_pct = {4.0, 92.0}}};
  of->fit.signal.noise_pct = 0.1;
  for (int i = 0; i < ROWS; i++) {
    of->time_s[i] = ROW_S * i;
    of->command[i] = (i / ROWS_EACH) % 2 == 0 ? 23.0 : 71.0;
    const double asked_pct = 4.0 + (of->command[i] - 10.0) * 1.1;
    of->level[i] = (asked_pct + 0.1 * plag_test_random_normal(&random)) / 20.0;
  }
}

static plag_resting look(record *of, bool by_duty) {
  platelag_trace *trace = plag_test_trace_make(&(plag_test_samples){
      .command_count = ROWS,
      .command_time_s = of->time_s,
      .command = of->command,
      .desired = by_duty,
      .effort_count = by_duty ? ROWS : 0,
      .effort_time_s = of->time_s,
      .effort = of->duty,
      .position_count = ROWS,
      .position_time_s = of->time_s,
      .level = of->level,
  });
  const plag_resting found = plag_resting_look(&of->fit, trace, 0.2);
  plag_test_trace_destroy(trace);
  return found;
}

static double evenly(double share) {
  return 7.2 * share;
}
static double back_and_forth(double share) {
  return 5.0 * sin(2 * M_PI * share) * sin(2 * M_PI * share);
}
static double at_the_end(double share) {
  return share > 0.6 ? -4.0 : 0.0;
}
static double not_at_all(double share) {
  return 0.0 * share;
}

/* Half as much again as the middle of the last third lies above that of the first. */
static void drift_is_told_as_a_trend(void **state) {
  (void)state;
  static const struct {
    const char *what;
    double (*drift_pct)(double share);
    double trend_pct, within_pct;
  } rows[] = {{"evenly", evenly, 7.2, 0.35},
              {"there and back", back_and_forth, 0.0, 0.35},
              {"in the last third", at_the_end, -6.0, 0.1},
              {"not at all", not_at_all, 0.0, 0.1}};
  static record made;
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    begin(&made);
    for (int i = 0; i < ROWS; i++)
      made.level[i] += rows[k].drift_pct((double)i / ROWS) / 20.0;
    const plag_resting found = look(&made, false);
    print_message("%s: %.2f, sd %.2f\n", rows[k].what, found.trend_pct, found.trend_sd_pct);
    assert_close(found.trend_pct, rows[k].trend_pct, 0, rows[k].within_pct);
    assert_true(found.trend_sd_pct > 0 && found.trend_sd_pct < 1.5);
    assert_close(found.away_leaps, 0, 0, 0);
    /* 1.2 s after each change are not at rest, nor is the first reading of a stretch's rest. */
    assert_close(found.minutes, STRETCHES * (ROWS_EACH * ROW_S - 1.2) / 60.0, 0.03, 0);
  }
}

/* A controller holds the readings where they are wanted; what drifts shows in its duty. */
static void drift_shows_against_the_duty(void **state) {
  (void)state;
  static record made;
  for (int drifts = 0; drifts < 2; drifts++) {
    plag_test_random random = {7717};
    double place_pct = 0;
    begin(&made);
    for (int i = 0; i < ROWS; i++) {
      if (i % ROWS_EACH == 0)
        place_pct = plag_test_random_uniform(&random, 25, 85);
      made.command[i] = place_pct;
      made.level[i] = (place_pct + 0.1 * plag_test_random_normal(&random)) / 20.0;
      made.duty[i] = 30.0 + (place_pct - (drifts ? evenly((double)i / ROWS) : 0)) / 1.6;
    }
    const plag_resting found = look(&made, true);
    print_message("trend %.2f, sd %.2f\n", found.trend_pct, found.trend_sd_pct);
    assert_close(found.trend_pct, drifts ? 7.2 : 0.0, 0, drifts ? 1.0 : 0.1);
  }
}

/* Too few stretches say nothing. */
static void few_stretches_have_no_trend(void **state) {
  (void)state;
  static record made;
  begin(&made);
  for (int i = 0; i < ROWS; i++)
    made.command[i] = i < 11 * ROWS_EACH ? made.command[i] : made.command[11 * ROWS_EACH];
  assert_true(isnan(look(&made, false).trend_pct) != 0);
}

static void leaps_away_are_counted(void **state) {
  (void)state;
  static const struct {
    const char *what;
    int row;       /* within its stretch */
    int lasts;     /* rows */
    double by_pct; /* positive: away from the last place, and from what is asked */
    double leaps;  /* each of 5 times */
  } rows[] = {
      {"one reading", 40, 1, 19.0, 1},
      {"for a second", 40, 10, -19.0, 1},
      {"a small one", 40, 1, 5.0, 0},
      {"right behind a change", 6, 1, 19.0, 0},
      {"from then on", 40, 400, 19.0, 1},
      {"as a change may have come", ROWS_EACH - 1, 1, 19.0, 0},
      {"a row before", ROWS_EACH - 2, 1, 19.0, 1},
  };
  static record made;
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    begin(&made);
    for (int n = 0; n < 5; n++)
      for (int j = 0; j < rows[k].lasts && j + rows[k].row < ROWS_EACH; j++)
        made.level[(3 + 10 * n) * ROWS_EACH + rows[k].row + j] += rows[k].by_pct / 20.0;
    const plag_resting found = look(&made, false);
    print_message("%s: %.0f leaps\n", rows[k].what, found.away_leaps);
    assert_close(found.away_leaps, 5 * rows[k].leaps, 0, 0);
  }
}

/* Readings that are void say nothing: no leap to them, none from them. */
static void void_readings_do_not_leap(void **state) {
  (void)state;
  static record made;
  begin(&made);
  const size_t first = 5 * ROWS_EACH + 40;
  made.level[first] = made.level[first + 1] = 0.02;
  const platelag_mode_span span[] = {
      {.first_sample = first, .sample_count = 2, .mode = PLATELAG_MODE_RAIL_LOW}};
  made.fit.span = span;
  made.fit.span_count = 1;
  assert_close(look(&made, false).away_leaps, 0, 0, 0);
  made.fit.span_count = 0;
  assert_close(look(&made, false).away_leaps, 1, 0, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(drift_is_told_as_a_trend),    cmocka_unit_test(drift_shows_against_the_duty),
      cmocka_unit_test(few_stretches_have_no_trend), cmocka_unit_test(leaps_away_are_counted),
      cmocka_unit_test(void_readings_do_not_leap),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
