/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every fault leaves its mark in the capture, and a healthy capture bears none of these marks. */
#include "support/check.h"
#include "support/made_capture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/number.h"
#include "practice/faults.h"

enum { MOST_ROWS = 4000, COMMAND = 5, POSITION = 6 }; /* columns from 0 of layout "comma" */

/* What is seen of the position, by someone who knows the healthy valve. */
typedef struct mark {
  double lowest_v, highest_v;         /* readings */
  double lowest_share, highest_share; /* the same on the healthy travel */
  double high_share, low_share;       /* of rows past 90 % and below 5 % of 5 V */
  double exact_repeats;               /* of rows, equal to the row before */
  double leaps;       /* of rows, away by more than 12 % of travel and back next row */
  double moved_share; /* travel visited by the middle 96 % of readings */
  double opening_t63_s, held_s, ridge_at_pct, band_pct; /* told by the truth */
  double reference_lowest_v;
  double drifted_share; /* lowest reading of the last third less that of the first, of travel */
} mark;

static size_t read_column(const char *text, int column, double *out) {
  size_t count = 0;
  for (const char *line = strchr(text, '\n'); line != NULL && line[1] != '\0';
       line = strchr(line + 1, '\n')) {
    const char *cell = line + 1;
    for (int skip = 0; skip < column; skip++)
      cell = strchr(cell, ',') + 1;
    double value = NAN;
    if (count < MOST_ROWS && plag_number_read(cell, strcspn(cell, ",\n"), '.', &value) > 0)
      out[count++] = value;
  }
  return count;
}

static int by_value(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static double lowest(const double *value, size_t count) {
  double least = INFINITY;
  for (size_t at = 0; at < count; at++)
    least = fmin(least, value[at]);
  return least;
}

static mark look(const made_capture *made) {
  static double volts[MOST_ROWS], reference[MOST_ROWS];
  const size_t count = read_column(made->capture.bytes, POSITION, volts);
  const size_t references = read_column(made->capture.bytes, 10, reference);
  assert_true(count > 1000 && references > 1000);
  mark seen = {.reference_lowest_v = INFINITY};
  const double span =
      made_capture_truth(made, "travel", "open_v") - made_capture_truth(made, "travel", "closed_v");
  const double closed = made_capture_truth(made, "travel", "closed_v");
  for (size_t at = 0; at < count; at++) {
    seen.high_share += volts[at] > 4.5;
    seen.low_share += volts[at] < 0.25;
    seen.exact_repeats += at > 0 && volts[at] == volts[at - 1];
    if (at > 0 && at + 1 < count)
      seen.leaps += fabs(volts[at] - volts[at - 1]) > 0.12 * span &&
                    fabs(volts[at] - volts[at + 1]) > 0.12 * span &&
                    (volts[at] - volts[at - 1]) * (volts[at] - volts[at + 1]) > 0;
  }
  for (size_t at = 0; at < references; at++)
    seen.reference_lowest_v = fmin(seen.reference_lowest_v, reference[at]);
  seen.drifted_share =
      (lowest(volts + 2 * (count / 3), count / 3) - lowest(volts, count / 3)) / span;
  qsort(volts, count, sizeof *volts, by_value);
  seen.high_share /= (double)count;
  seen.low_share /= (double)count;
  seen.exact_repeats /= (double)count;
  seen.leaps /= (double)count;
  seen.lowest_v = volts[count / 50];
  seen.highest_v = volts[count - 1 - count / 50];
  seen.lowest_share = (seen.lowest_v - closed) / span;
  seen.highest_share = (seen.highest_v - closed) / span;
  seen.moved_share = (seen.highest_v - seen.lowest_v) / span;
  seen.opening_t63_s = made_capture_truth(made, "lag", "opening_t63_s");
  seen.band_pct = made_capture_truth(made, "friction", "stick_band_pct");
  seen.ridge_at_pct = made_capture_truth(made, "friction", "ridge_at_pct");
  const char *held = strstr(made->truth.bytes, "\"held\": [");
  for (const char *at = held; at != NULL && (at = strstr(at, "\"from_s\": ")) != NULL; at++) {
    double from_s = 0, to_s = 0;
    (void)plag_number_read(at + 10, 20, '.', &from_s);
    const char *to = strstr(at, "\"to_s\": ") + 8;
    (void)plag_number_read(to, 20, '.', &to_s);
    seen.held_s += to_s - from_s;
  }
  return seen;
}

static bool moves_freely(const mark *m) {
  return m->lowest_share < 0.05 && m->highest_share > 0.94 && m->leaps < 0.004 &&
         m->high_share == 0 && m->low_share == 0 && m->opening_t63_s < 0.45 && m->held_s == 0 &&
         m->band_pct < 3 && m->reference_lowest_v > 4.9;
}
static bool slow(const mark *m) {
  return m->opening_t63_s > 0.9;
}
static bool sticking(const mark *m) {
  return m->band_pct > 15 && m->held_s > 20;
}
static bool ridge(const mark *m) {
  return m->ridge_at_pct > 25 && m->ridge_at_pct < 75 && m->held_s > 3 && m->band_pct < 3;
}
static bool short_travel(const mark *m) {
  return (m->lowest_share > 0.25) != (m->highest_share < 0.75);
}
static bool jam_inside(const mark *m) {
  return m->moved_share < 0.03 && m->lowest_share > 0.1 && m->exact_repeats < 0.75;
}
static bool jam_past_stop(const mark *m) {
  return m->lowest_v >= 4.5 && m->highest_v <= 4.8 && m->exact_repeats < 0.8 && m->held_s > 200;
}
static bool no_drive(const mark *m) {
  return m->moved_share < 0.03 && fabs(m->lowest_share) < 0.03;
}
static bool weak_drive(const mark *m) {
  return m->lowest_share < 0.05 && m->highest_share < 0.75;
}
static bool open_wire(const mark *m) {
  return m->high_share > 0.5 && m->highest_v > 4.8 && m->exact_repeats > 0.45;
}
static bool short_to_reference(const mark *m) {
  return m->high_share > 0.5 && m->highest_v == 5.0;
}
static bool short_to_ground(const mark *m) {
  return m->low_share > 0.5 && m->lowest_v < 0.06;
}
static bool dropouts(const mark *m) {
  return m->high_share + m->low_share > 0.03 && m->high_share + m->low_share < 0.4;
}
static bool worn_spot(const mark *m) {
  return m->leaps > 0.006 || m->low_share > 0.01;
}
static bool frozen_signal(const mark *m) {
  return m->exact_repeats > 0.8;
}
static bool shifted(const mark *m) {
  return fabs(m->lowest_share) > 0.1 && fabs((m->highest_share - 1) - m->lowest_share) < 0.08;
}
static bool span_scaled(const mark *m) {
  return m->moved_share < 0.85 && m->lowest_share < -0.05 && m->highest_share < 0.8;
}
static bool reference_sag(const mark *m) {
  return m->reference_lowest_v < 4;
}
static bool noise(const mark *m) {
  return m->leaps > 0.1;
}
static bool drift(const mark *m) {
  return fabs(m->drifted_share) > 0.06;
}

static const struct {
  const char *fault;
  bool (*bears_mark)(const mark *m);
} marks[] = {{"none", moves_freely},
             {"slow", slow},
             {"sticking", sticking},
             {"ridge", ridge},
             {"short_travel", short_travel},
             {"jam_inside", jam_inside},
             {"jam_past_stop", jam_past_stop},
             {"no_drive", no_drive},
             {"weak_drive", weak_drive},
             {"open_wire", open_wire},
             {"short_to_reference", short_to_reference},
             {"short_to_ground", short_to_ground},
             {"dropouts", dropouts},
             {"worn_spot", worn_spot},
             {"frozen_signal", frozen_signal},
             {"shifted", shifted},
             {"span_scaled", span_scaled},
             {"reference_sag", reference_sag},
             {"noise", noise},
             {"drift", drift}};
enum { MARK_COUNT = sizeof marks / sizeof marks[0] };

static mark make(const char *fault, uint64_t seed) {
  made_capture made = {0};
  const platelag_practice_order order = {
      .fault = fault, .severity = 0.8, .seed = seed, .minutes = 4.1};
  assert_true(made_capture_make(&made, &order));
  const mark seen = look(&made);
  made_capture_clear(&made);
  return seen;
}

static void every_fault_leaves_its_mark(void **state) {
  (void)state;
  assert_int_equal(MARK_COUNT, plag_fault_count());
  for (size_t index = 0; index < MARK_COUNT; index++) {
    assert_string_equal(marks[index].fault, plag_fault_at(index)->name);
    for (uint64_t seed = 101; seed <= 106; seed++) {
      const mark seen = make(marks[index].fault, seed);
      if (!marks[index].bears_mark(&seen))
        fail_msg("%s, seed %llu: no mark (travel %.3f..%.3f, high %.3f, low %.3f, repeats %.3f, "
                 "leaps %.4f, held %.1f s, reference %.2f V)",
                 marks[index].fault, (unsigned long long)seed, seen.lowest_share,
                 seen.highest_share, seen.high_share, seen.low_share, seen.exact_repeats,
                 seen.leaps, seen.held_s, seen.reference_lowest_v);
    }
  }
}

static void a_healthy_valve_bears_none(void **state) {
  (void)state;
  for (uint64_t seed = 201; seed <= 208; seed++) {
    const mark seen = make("none", seed);
    for (size_t index = 1; index < MARK_COUNT; index++)
      if (marks[index].bears_mark(&seen))
        fail_msg("healthy, seed %llu: bears the mark of %s", (unsigned long long)seed,
                 marks[index].fault);
  }
}

static void the_plates_faults_are_gone_off_the_manifold_and_after(void **state) {
  (void)state;
  static const struct {
    const char *fault, *condition;
    bool there;
  } rows[] = {{"jam_past_stop", "road", true},   {"jam_past_stop", "hand_sweep", false},
              {"jam_past_stop", "after", false}, {"open_wire", "road", true},
              {"open_wire", "hand_sweep", true}, {"open_wire", "after", false}};
  for (size_t index = 0; index < sizeof rows / sizeof rows[0]; index++) {
    made_capture made = {0};
    const platelag_practice_order order = {.fault = rows[index].fault,
                                           .condition = rows[index].condition,
                                           .severity = 0.95,
                                           .seed = 37,
                                           .minutes = 2.9};
    assert_true(made_capture_make(&made, &order));
    const mark seen = look(&made);
    const bool there = seen.high_share > 0.98;
    if (there != rows[index].there)
      fail_msg("%s, %s: high for %.3f of the rows", rows[index].fault, rows[index].condition,
               seen.high_share);
    made_capture_clear(&made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_fault_leaves_its_mark),
      cmocka_unit_test(a_healthy_valve_bears_none),
      cmocka_unit_test(the_plates_faults_are_gone_off_the_manifold_and_after),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
