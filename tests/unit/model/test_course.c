/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a command asks for and the course of free plates, on a small trace worked by hand: first
 * order behind a dead time, exact between events; a map that changes is noticed. */
#include "support/check.h"

#include <math.h>

#include "model/course.h"
#include "support/made_model.h"
#include "support/made_trace.h"

/* A change in the middle of its bracket 0.4 .. 0.6 s: at 0.5 s; felt 0.13 s later. */
static const double time_s[] = {0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2};
static const double command[] = {10.0, 10.0, 10.0, 60.0, 60.0, 60.0, 60.0};
static const double level[] = {0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0};
enum { SAMPLES = sizeof time_s / sizeof time_s[0] };

static const double dead_time_s = 0.13;
static const double tau_s = 0.31;
static const double felt_s = 0.63;

/* Values at their times. */
typedef struct series {
  size_t count;
  const double *time_s, *value;
} series;

/* Of commands and of readings in % of travel; a longer pause than `gap_s` begins a segment. */
static platelag_trace *make_trace(series asked, series read, double gap_s) {
  const plag_test_samples samples = {
      .command_count = asked.count,
      .command_time_s = asked.time_s,
      .command = asked.value,
      .position_count = read.count,
      .position_time_s = read.time_s,
      .level = read.value,
      .closed_level = 0.0,
      .open_level = 100.0,
      .gap_s = gap_s,
      .scale = PLATELAG_SCALE_SPEC,
  };
  return plag_test_trace_make(&samples);
}

static platelag_trace *make_small_trace(void) {
  return make_trace((series){SAMPLES, time_s, command}, (series){SAMPLES, time_s, level}, 0.0);
}

/* The map from end to end of the command: 10 asks for 0 %, 60 for 100 %. */
static double free_at(double now_s, double most_pct) {
  return now_s <= felt_s ? 0.0 : most_pct * (1.0 - exp(-(now_s - felt_s) / tau_s));
}

static void check_course(const plag_model *model, double most_pct) {
  plag_course course;
  plag_course rare; /* asked now and then */
  plag_course_begin(&course, model);
  plag_course_begin(&rare, model);
  for (size_t i = 0; i < SAMPLES; i++) {
    assert_true(plag_course_next(&course));
    assert_true(plag_course_next(&rare));
    assert_int_equal(course.sample, i);
    assert_true(course.first == (i == 0));
    assert_close(course.target_pct, time_s[i] < felt_s ? 0.0 : most_pct, 0.0, 1e-12);
    assert_close(plag_course_free_pct(&course), free_at(time_s[i], most_pct), 0.0, 1e-9);
    if (i % 3 == 2)
      assert_close(plag_course_free_pct(&rare), free_at(time_s[i], most_pct), 0.0, 1e-9);
    assert_close(course.last_move_pct, time_s[i] < felt_s ? 0.0 : most_pct, 0.0, 1e-12);
  }
  assert_false(plag_course_next(&course));
}

static void free_plates_go_as_worked_by_hand(void **state) {
  (void)state;
  platelag_trace *trace = make_small_trace();
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, dead_time_s, tau_s, tau_s);
  check_course(&made.model, 100.0);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

/* What is kept of a map must not outlive it. */
static void another_map_asks_for_something_else(void **state) {
  (void)state;
  platelag_trace *trace = make_small_trace();
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, dead_time_s, tau_s, tau_s);
  check_course(&made.model, 100.0);
  made.fit.map_high_pct = NAN;
  plag_asked_walk nothing;
  plag_asked_begin(&nothing, &made.model, 0, 0.0);
  assert_true(isnan(plag_asked_until(&nothing, INT64_MAX)));
  made.fit.map_high_pct = 73.0;
  check_course(&made.model, 73.0);
  made.fit.map_knots = 2;
  made.fit.map_command[0] = 10.0;
  made.fit.map_command[1] = 60.0;
  made.fit.map_pct[0] = 0.0;
  made.fit.map_pct[1] = 41.0;
  check_course(&made.model, 41.0);
  made.fit.map_pct[1] = 43.0;
  check_course(&made.model, 43.0);
  made.fit.map_knots = 0;
  check_course(&made.model, 73.0);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

/* What the changes of a trace ask for is what its map says of their commands. */
static void check_asked(const plag_model *model) {
  static const double to[] = {35.0, 60.0};
  plag_asked_walk walk;
  plag_asked_begin(&walk, model, 0, 0.0);
  for (size_t i = 0; i < sizeof to / sizeof to[0]; i++) {
    assert_true(plag_asked_changes_by(&walk, INT64_MAX));
    (void)plag_asked_take_change(&walk);
    assert_close(walk.pct, platelag_fit_target_pct(model->fit, model->trace, to[i]), 0.0, 1e-12);
  }
  assert_false(plag_asked_changes_by(&walk, INT64_MAX));
}

/* One after the other, each alone. */
static void every_part_of_a_map_counts(void **state) {
  (void)state;
  static const double steps[] = {10.0, 10.0, 35.0, 35.0, 60.0, 60.0, 60.0};
  const plag_test_samples samples = {
      .command_count = SAMPLES,
      .command_time_s = time_s,
      .command = steps,
      .position_count = SAMPLES,
      .position_time_s = time_s,
      .level = level,
      .closed_level = 0.0,
      .open_level = 100.0,
      .scale = PLATELAG_SCALE_SPEC,
  };
  platelag_trace *trace = plag_test_trace_make(&samples);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, dead_time_s, tau_s, tau_s);
  platelag_fit *fit = &made.fit;
  check_asked(&made.model);
  double *const two_ends[] = {&fit->map_low_pct, &fit->map_high_pct};
  for (size_t i = 0; i < sizeof two_ends / sizeof two_ends[0]; i++) {
    *two_ends[i] += 7.3;
    check_asked(&made.model);
  }
  fit->map_command[0] = 9.1;
  fit->map_command[1] = 41.3;
  fit->map_command[2] = 83.9;
  fit->map_pct[0] = 3.7;
  fit->map_pct[1] = 52.9;
  fit->map_pct[2] = 91.1;
  static const size_t knots[] = {2, 3, 2, 3};
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    fit->map_knots = knots[i];
    check_asked(&made.model);
  }
  for (size_t i = 0; i < 3; i++) {
    fit->map_command[i] += 1.7;
    check_asked(&made.model);
    fit->map_pct[i] += 2.3;
    check_asked(&made.model);
  }
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void a_change_on_its_row_is_felt_later(void **state) {
  (void)state;
  platelag_trace *trace = make_small_trace();
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, dead_time_s, tau_s, tau_s);
  plag_asked_walk walk;
  plag_asked_begin(&walk, &made.model, 0, dead_time_s);
  assert_false(plag_asked_changes_by(&walk, 629999999));
  assert_true(plag_asked_changes_by(&walk, 630000000));
  made.fit.lag.command_on_rows = true;
  plag_asked_begin(&walk, &made.model, 0, dead_time_s);
  assert_false(plag_asked_changes_by(&walk, 729999999));
  assert_close(plag_asked_until(&walk, 729999999), 0.0, 0.0, 1e-12);
  assert_close(plag_asked_until(&walk, 730000000), 100.0, 0.0, 1e-12);
  assert_false(plag_asked_changes_by(&walk, INT64_MAX));
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static const double tau_close_s = 0.47;

/* Where plates are `dt_s` later that go from one place to another. */
static double glided(double from_pct, double to_pct, double dt_s) {
  return to_pct + (from_pct - to_pct) * exp(-dt_s / (to_pct > from_pct ? tau_s : tau_close_s));
}

/* The command changes before the first reading of the first segment, whose first time comes twice;
 * the second and the last are one reading; in the third the plates are let go anew at its second
 * reading, and the command changes at 20.1 s. */
static void segments_stand_alone(void **state) {
  (void)state;
  static const double asked_s[] = {0.0, 0.2, 9.0, 20.0, 20.2, 20.4, 40.0};
  static const double asked[] = {10.0, 60.0, 35.0, 35.0, 60.0, 60.0, 10.0};
  static const double read_s[] = {0.8, 0.8, 1.0, 9.0, 20.0, 20.2, 20.4, 40.0};
  static const double read_pct[] = {50.0, 51.0, 52.0, 33.0, 70.0, 71.0, 72.0, 55.0};
  const struct {
    size_t segment;
    bool first;
    double dt_s, target_pct, last_move_pct, free_pct;
  } expected[] = {
      {0, true, 0.0, 100.0, 0.0, 50.0},
      {0, false, 0.0, 100.0, 0.0, 50.0},
      {0, false, 0.2, 100.0, 0.0, glided(50.0, 100.0, 0.2)},
      {1, true, 0.0, 50.0, 0.0, 33.0},
      {2, true, 0.0, 50.0, 0.0, 70.0},
      {2, false, 0.2, 50.0, 0.0, glided(70.0, 50.0, 0.2)},
      {2, false, 0.2, 100.0, 50.0, glided(glided(71.0, 50.0, 0.03), 100.0, 0.17)},
      {3, true, 0.0, 0.0, 0.0, 55.0},
  };
  platelag_trace *trace =
      make_trace((series){sizeof asked / sizeof asked[0], asked_s, asked},
                 (series){sizeof read_s / sizeof read_s[0], read_s, read_pct}, 5.0);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, dead_time_s, tau_s, tau_close_s);
  plag_course course;
  plag_course_begin(&course, &made.model);
  for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++) {
    assert_true(plag_course_next(&course));
    assert_int_equal(course.sample, i);
    assert_int_equal(course.segment, expected[i].segment);
    assert_true(course.first == expected[i].first);
    assert_close(course.dt_s, expected[i].dt_s, 0.0, 1e-9);
    assert_close(course.travel_pct, read_pct[i], 0.0, 1e-9);
    assert_close(course.target_pct, expected[i].target_pct, 0.0, 1e-9);
    assert_close(course.last_move_pct, expected[i].last_move_pct, 0.0, 1e-9);
    assert_close(plag_course_free_pct(&course), expected[i].free_pct, 0.0, 1e-6);
    if (i == 5)
      plag_course_let_go(&course);
  }
  assert_false(plag_course_next(&course));
  assert_false(plag_course_next(&course));
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

/* A quick recorder of the command beside a slow one of the position: changes at 0.12, 0.17 and
 * 0.22 s, all between two readings, each in the middle of its bracket and felt 0.13 s later. */
static void plates_follow_each_of_several_changes(void **state) {
  (void)state;
  static const double asked_s[] = {0.0, 0.1, 0.14, 0.2, 0.24, 0.6};
  static const double asked[] = {10.0, 10.0, 60.0, 35.0, 47.5, 47.5};
  static const double read_s[] = {0.0, 0.2, 0.4};
  static const double read_pct[] = {0.0, 0.0, 0.0};
  platelag_trace *trace =
      make_trace((series){sizeof asked / sizeof asked[0], asked_s, asked},
                 (series){sizeof read_s / sizeof read_s[0], read_s, read_pct}, 0.0);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, dead_time_s, tau_s, 0.5 * tau_s);
  plag_course course;
  plag_course_begin(&course, &made.model);
  for (size_t i = 0; i < 3; i++)
    assert_true(plag_course_next(&course));
  const double opened = glided(0.0, 100.0, 0.05);
  const double towards_half = glided(opened, 50.0, 0.05);
  assert_close(course.target_pct, 75.0, 0.0, 1e-9);
  assert_close(course.last_move_pct, 25.0, 0.0, 1e-9);
  assert_close(plag_course_free_pct(&course), glided(towards_half, 75.0, 0.05), 0.0, 1e-6);
  plag_asked_walk walk;
  plag_asked_begin(&walk, &made.model, 0, 0.0);
  assert_close(plag_asked_until(&walk, 200000000), 50.0, 0.0, 1e-9);
  assert_close(plag_asked_until(&walk, 400000000), 75.0, 0.0, 1e-9);
  made.fit.map_low_pct = 20.0; /* another map, in one of its numbers */
  plag_asked_begin(&walk, &made.model, 0, 0.0);
  assert_close(plag_asked_until(&walk, 400000000), 80.0, 0.0, 1e-9);
  made.fit.map_knots = 2;
  made.fit.map_command[0] = 10.0;
  made.fit.map_command[1] = 60.0;
  made.fit.map_pct[1] = 40.0;
  plag_asked_begin(&walk, &made.model, 0, 0.0);
  assert_close(plag_asked_until(&walk, 400000000), 30.0, 0.0, 1e-9);
  made.fit.map_command[1] = 85.0;
  plag_asked_begin(&walk, &made.model, 0, 0.0);
  assert_close(plag_asked_until(&walk, 400000000), 20.0, 0.0, 1e-9);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

/* One number for each lag: the middle of what is known; where nothing is, what the other way has,
 * or 0.15 s, and 0.05 s of dead time. */
static void what_is_known_of_a_lag_gives_its_point(void **state) {
  (void)state;
  const platelag_estimate nothing = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  const platelag_estimate value = {PLATELAG_KNOWN_VALUE, 0.217, 0.19, 0.26};
  const platelag_estimate lost = {PLATELAG_KNOWN_VALUE, NAN, NAN, NAN};
  const platelag_estimate at_most = {PLATELAG_KNOWN_UPPER_LIMIT, NAN, NAN, 0.086};
  const platelag_estimate below_zero = {PLATELAG_KNOWN_UPPER_LIMIT, NAN, NAN, -0.031};
  const platelag_estimate at_least = {PLATELAG_KNOWN_LOWER_LIMIT, NAN, 0.413, NAN};
  const platelag_estimate between = {PLATELAG_KNOWN_BRACKET, NAN, 0.03, 0.17};
  const platelag_estimate minus = {PLATELAG_KNOWN_VALUE, -0.023, -0.04, 0.01};
  const struct {
    const platelag_estimate *dead, *open, *close;
    double dead_s, open_s, close_s;
  } rows[] = {
      {&nothing, &nothing, &nothing, 0.05, 0.15, 0.15},
      {&value, &value, &nothing, 0.217, 0.217, 0.217},
      {&at_most, &nothing, &at_least, 0.043, 0.413, 0.413},
      {&between, &between, &value, 0.1, 0.1, 0.217},
      {&minus, &at_most, &between, 0.0, 0.043, 0.1},
      {&lost, &lost, &lost, 0.05, 0.15, 0.15},
      {&below_zero, &below_zero, &minus, 0.0, 0.001, 0.001},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const platelag_fit fit = {.lag = {.dead_time_s = *rows[i].dead,
                                      .opening_tau_s = *rows[i].open,
                                      .closing_tau_s = *rows[i].close}};
    const plag_lag_point point = plag_lag_point_of(&fit);
    assert_close(point.dead_time_s, rows[i].dead_s, 0.0, 1e-12);
    assert_close(point.tau_open_s, rows[i].open_s, 0.0, 1e-12);
    assert_close(point.tau_close_s, rows[i].close_s, 0.0, 1e-12);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(free_plates_go_as_worked_by_hand),
      cmocka_unit_test(another_map_asks_for_something_else),
      cmocka_unit_test(every_part_of_a_map_counts),
      cmocka_unit_test(a_change_on_its_row_is_felt_later),
      cmocka_unit_test(segments_stand_alone),
      cmocka_unit_test(plates_follow_each_of_several_changes),
      cmocka_unit_test(what_is_known_of_a_lag_gives_its_point),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
