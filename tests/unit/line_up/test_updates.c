/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Only true updates of a position go into a trace: missing rows and the recorder's repeats are left
 * out, and where there is nothing to leave out nothing is copied. */
#include "support/check.h"
#include "support/made_random.h"
#include "support/made_recording.h"

#include <math.h>

#include "line_up/line_up.h"
#include "line_up/updates.h"

enum { ROWS = 900 };

static const plag_test_head POSITION = {"Flap pos", "V", PLATELAG_UNIT_VOLT, PLATELAG_ROLE_POSITION,
                                        0,          0.9};
static const plag_test_head COMMAND = {"Flap duty",           "%", PLATELAG_UNIT_PERCENT,
                                       PLATELAG_ROLE_COMMAND, 0,   0.9};

/* A position with noise that the recorder reads at every `rows_per_update`-th row from `phase` on,
 * losing a row of its own count at `slip` (0: never). */
static void record(int rows_per_update, int phase, int slip, double quantum, double *time_s,
                   double *value) {
  plag_test_random random = {1234};
  double shown = 1.734;
  for (int i = 0; i < ROWS; i++) {
    time_s[i] = 0.1 * i;
    const int count = slip > 0 && i >= slip ? i + 1 : i;
    if (count % rows_per_update == phase) {
      const double read = 2.4 + 1.1 * sin(0.05 * i) + 0.011 * plag_test_random_normal(&random);
      shown = quantum * round(read / quantum);
    }
    value[i] = shown;
  }
}

static void repeats_are_left_out_by_phase(void **state) {
  (void)state;
  const struct {
    int rows_per_update, phase, slip;
    double quantum;
  } row[] = {{1, 0, 0, 0.005},  {2, 1, 0, 0.005},   {3, 0, 0, 0.005}, {3, 2, 0, 0.0196},
             {5, 3, 0, 0.0196}, {4, 1, 402, 0.005}, {8, 7, 0, 0.005}};
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    double time_s[ROWS];
    double value[ROWS];
    record(row[i].rows_per_update, row[i].phase, row[i].slip, row[i].quantum, time_s, value);
    plag_test_recording made = {0};
    const platelag_channel *channel = plag_test_recording_add(&made, POSITION, time_s, value, ROWS);
    plag_arena arena = {0};
    plag_updates updates;
    assert_int_equal(plag_updates_take(&made.recording, channel, &arena, &updates, NULL),
                     PLATELAG_OK);
    assert_int_equal(updates.rows_per_update, row[i].rows_per_update);
    assert_close(updates.refresh_s, 0.1 * row[i].rows_per_update, 0, 1e-9);
    assert_close(updates.row_period_s, 0.1, 0, 1e-9);
    assert_between((double)updates.count, (double)(ROWS / row[i].rows_per_update - 1),
                   (double)(ROWS / row[i].rows_per_update + 2));
    assert_int_equal(updates.repeats + updates.count, ROWS);
    for (size_t k = 1; k < updates.count; k++) {
      const int at = (int)llround((double)updates.time_ns[k] * 1e-8);
      const int count = row[i].slip > 0 && at >= row[i].slip ? at + 1 : at;
      const bool after_slip = row[i].slip > 0 && at >= row[i].slip && at < row[i].slip + 12;
      assert_true(after_slip || count % row[i].rows_per_update == row[i].phase);
      assert_close(updates.level[k], value[at], 0, 0);
    }
    plag_arena_clear(&arena);
    plag_test_recording_clear(&made);
  }
}

/* A valve at rest repeats itself honestly, by the converter: no sign of a slow recorder. */
static void a_quiet_signal_is_not_thinned(void **state) {
  (void)state;
  plag_test_random random = {55};
  double time_s[ROWS];
  double value[ROWS];
  for (int i = 0; i < ROWS; i++) {
    time_s[i] = 0.1 * i;
    value[i] = 1.2 + (plag_test_random_uniform(&random, 0.0, 1.0) < 0.12 ? 0.0196 : 0.0);
  }
  plag_test_recording made = {0};
  const platelag_channel *channel = plag_test_recording_add(&made, POSITION, time_s, value, ROWS);
  assert_int_equal(plag_updates_rows_per_change(&made.recording, channel), 1);
  plag_test_recording_clear(&made);
}

/* Changes far apart, half of them at odd distances: each counts once, and no update is found. At
 * even ones alone it is. */
static void changes_far_apart_count_once(void **state) {
  (void)state;
  for (int odd = 0; odd < 2; odd++) {
    double time_s[6 * ROWS];
    double value[6 * ROWS];
    int next = 0;
    int changes = 0;
    for (int i = 0; i < 6 * ROWS; i++) {
      time_s[i] = 0.1 * i;
      if (i == next) {
        next += 94 + 2 * (changes * 7 % 5);
        if (odd && changes % 2 == 0)
          next++;
        changes++;
      }
      value[i] = changes % 2 == 0 ? 1.2 : 3.4;
    }
    plag_test_recording made = {0};
    const platelag_channel *channel =
        plag_test_recording_add(&made, POSITION, time_s, value, 6 * ROWS);
    assert_int_equal(plag_updates_rows_per_change(&made.recording, channel), odd ? 1 : 2);
    plag_test_recording_clear(&made);
  }
}

static void nothing_to_leave_out_is_lent(void **state) {
  (void)state;
  double time_s[ROWS];
  double value[ROWS];
  record(1, 0, 0, 0.005, time_s, value);
  plag_test_recording made = {0};
  plag_arena arena = {0};
  plag_updates updates;
  const platelag_channel *whole = plag_test_recording_add(&made, POSITION, time_s, value, ROWS);
  assert_int_equal(plag_updates_take(&made.recording, whole, &arena, &updates, NULL), PLATELAG_OK);
  assert_ptr_equal(updates.level, whole->value);
  assert_ptr_equal(updates.time_ns, whole->time_ns);
  assert_null(arena.block);
  value[417] = NAN;
  value[418] = NAN;
  const platelag_channel *holed = plag_test_recording_add(&made, POSITION, time_s, value, ROWS);
  assert_int_equal(plag_updates_take(&made.recording, holed, &arena, &updates, NULL), PLATELAG_OK);
  assert_int_equal(updates.missing, 2);
  assert_int_equal(updates.count, ROWS - 2);
  assert_close(updates.level[417], value[419], 0, 0);
  plag_arena_clear(&arena);
  plag_test_recording_clear(&made);
}

static void the_converter_is_found(void **state) {
  (void)state;
  const double quantum[] = {0.0196, 0.0049, 0.3922};
  for (size_t i = 0; i < sizeof quantum / sizeof quantum[0]; i++) {
    double time_s[ROWS];
    double value[ROWS];
    record(1, 0, 0, quantum[i], time_s, value);
    assert_close(plag_updates_quantum(value, ROWS), quantum[i], 1e-6, 0);
  }
  assert_close(plag_updates_quantum((const double[]){2.31, 2.31, 2.31}, 3), 0.0, 0, 0);
}

/* A gap between 40 s and 60 s: its segments hold their own samples and changes, and the command's
 * first value after it is no change. */
static void segments_hold_their_own(void **state) {
  (void)state;
  double time_s[ROWS];
  double level[ROWS];
  double command[ROWS];
  record(1, 0, 0, 0.005, time_s, level);
  for (int i = 0; i < ROWS; i++) {
    if (i >= 400)
      time_s[i] += 20.0;
    command[i] = i < 237 ? 11.5 : i < 400 ? 83.2 : i < 655 ? 11.5 : i < 656 ? NAN : 47.3;
  }
  plag_test_recording made = {0};
  plag_test_recording_add(&made, POSITION, time_s, level, ROWS);
  plag_test_recording_add(&made, COMMAND, time_s, command, ROWS);
  plag_test_recording_cut(&made, time_s[399], time_s[400]);
  platelag_spec *spec = NULL;
  assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
  platelag_trace *trace = NULL;
  assert_int_equal(plag_line_up(&made.recording, 0, spec, PLATELAG_CONDITION_ROAD, &trace, NULL),
                   PLATELAG_OK);
  assert_int_equal(trace->segment_count, 2);
  assert_int_equal(trace->segment[0].sample_count, 400);
  assert_int_equal(trace->segment[1].first_sample, 400);
  assert_int_equal(trace->segment[1].sample_count, ROWS - 400);
  assert_int_equal(trace->change_count, 2);
  assert_close(trace->segment[1].command_at_start, 11.5, 0, 0);
  assert_int_equal(trace->segment[1].first_change, 1);
  const platelag_command_change change = platelag_trace_change_at(trace, 1);
  assert_close(change.from, 11.5, 0, 0);
  assert_close(change.to, 47.3, 0, 0);
  assert_int_equal(change.after_ns, llround(time_s[654] * 1e9));
  assert_int_equal(change.by_ns, llround(time_s[656] * 1e9));
  assert_int_equal(change.segment, 1);
  assert_close(trace->command_lowest, 11.5, 0, 0);
  assert_close(trace->command_highest, 83.2, 0, 0);
  assert_ptr_equal(trace->level, trace->position->value);
  platelag_trace_destroy(trace);
  platelag_spec_destroy(spec);
  plag_test_recording_clear(&made);
}

/* A round robin of three channels repeats the command too: a change may be two rows older than it
 * looks. A command that changes at every third row by itself is no sign of that. */
static void a_round_robin_widens_the_time_of_a_change(void **state) {
  (void)state;
  const struct {
    int rows_per_update;
    double refresh_s;
  } row[] = {{3, 0.3}, {1, 0.0}};
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    double time_s[ROWS];
    double level[ROWS];
    double command[ROWS];
    record(row[i].rows_per_update, 0, 0, 0.005, time_s, level);
    for (int k = 0; k < ROWS; k++)
      command[k] = (k / 93) % 2 == 0 ? 11.5 : 83.2;
    plag_test_recording made = {0};
    plag_test_recording_add(&made, POSITION, time_s, level, ROWS);
    plag_test_recording_add(&made, COMMAND, time_s, command, ROWS);
    platelag_spec *spec = NULL;
    assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
    platelag_trace *trace = NULL;
    assert_int_equal(plag_line_up(&made.recording, 0, spec, PLATELAG_CONDITION_ROAD, &trace, NULL),
                     PLATELAG_OK);
    assert_close(trace->command_refresh_s, row[i].refresh_s, 0, 1e-9);
    assert_int_equal(trace->command_kind, PLATELAG_COMMAND_TWO_LEVEL);
    const platelag_command_change change = platelag_trace_change_at(trace, 2);
    assert_close(platelag_seconds(change.by_ns), 27.9, 0, 1e-9);
    assert_close(platelag_seconds(change.after_ns), 27.9 - fmax(0.1, row[i].refresh_s), 0, 1e-9);
    platelag_trace_destroy(trace);
    platelag_spec_destroy(spec);
    plag_test_recording_clear(&made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(repeats_are_left_out_by_phase),
      cmocka_unit_test(a_quiet_signal_is_not_thinned),
      cmocka_unit_test(changes_far_apart_count_once),
      cmocka_unit_test(nothing_to_leave_out_is_lent),
      cmocka_unit_test(the_converter_is_found),
      cmocka_unit_test(segments_hold_their_own),
      cmocka_unit_test(a_round_robin_widens_the_time_of_a_change),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
