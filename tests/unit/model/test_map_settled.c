/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The line between two stops from what came to rest: readings before that, and void ones, are left
 * out, however many there are; too few that rested leave the knots as they are. */
#include "support/check.h"

#include <math.h>

#include "model/map.h"
#include "support/made_model.h"
#include "support/made_random.h"
#include "support/made_trace.h"

enum { ROWS_A_LEVEL = 14, MOST_LEVELS = 61, RESTS_AT = 7 };
#define ROW_S       0.1
#define DEAD_TIME_S 0.053
#define TAU_OPEN_S  0.117
#define TAU_CLOSE_S 0.131 /* at rest after 0.053 + 4 * 0.131 + 0.1 s: seven rows */
#define NOT_RESTING 31.7  /* % of travel beside the line, all the same way */
#define CLOSED_PCT  3.3
#define OPEN_PCT    95.9
#define SLOPE       1.43
#define OFFSET_PCT  -20.7

typedef struct record {
  double time_s[MOST_LEVELS * ROWS_A_LEVEL];
  double command[MOST_LEVELS * ROWS_A_LEVEL];
  double level[MOST_LEVELS * ROWS_A_LEVEL];
} record;

static double on_line(double command) {
  return fmin(fmax(OFFSET_PCT + SLOPE * command, CLOSED_PCT), OPEN_PCT);
}

/* Every third level's first reading at rest is spoilt too. */
static bool is_spoilt(size_t level) {
  return level % 3 == 1;
}

static platelag_trace *make_trace(size_t levels) {
  static record of;
  plag_test_random random = {0x5e771ed};
  for (size_t k = 0; k < levels; k++) {
    const double command = plag_test_random_uniform(&random, 4.0, 96.0);
    for (size_t row = 0; row < ROWS_A_LEVEL; row++) {
      const size_t i = k * ROWS_A_LEVEL + row;
      const bool rests = row >= RESTS_AT && !(is_spoilt(k) && row == RESTS_AT);
      of.time_s[i] = ROW_S * (double)i;
      of.command[i] = command;
      of.level[i] = on_line(command) + (rests ? 0.0 : NOT_RESTING);
    }
  }
  return plag_test_trace_make(&(plag_test_samples){
      .command_count = levels * ROWS_A_LEVEL,
      .command_time_s = of.time_s,
      .command = of.command,
      .position_count = levels * ROWS_A_LEVEL,
      .position_time_s = of.time_s,
      .level = of.level,
      .closed_level = 0.0,
      .open_level = 100.0,
      .row_period_s = ROW_S,
      .scale = PLATELAG_SCALE_SPEC,
  });
}

/* As fitted to the whole record: knots where the command happened to be, too high between them. */
static void begin(plag_test_model *made, const platelag_trace *trace) {
  plag_test_model_begin(made, trace);
  plag_test_model_set_response(made, DEAD_TIME_S, TAU_OPEN_S, TAU_CLOSE_S);
  platelag_fit *fit = &made->fit;
  fit->map_knots = 3;
  fit->map_command[0] = trace->command_lowest;
  fit->map_command[1] = 47.1;
  fit->map_command[2] = trace->command_highest;
  fit->map_pct[0] = CLOSED_PCT;
  fit->map_pct[1] = on_line(47.1) + 9.0;
  fit->map_pct[2] = OPEN_PCT;
  for (size_t k = 0; k * ROWS_A_LEVEL < trace->sample_count; k++)
    if (is_spoilt(k))
      made->model.mode[k * ROWS_A_LEVEL + RESTS_AT] = PLATELAG_MODE_ERRATIC;
}

static void what_rests_tells_the_line(void **state) {
  (void)state;
  platelag_trace *trace = make_trace(MOST_LEVELS);
  plag_test_model made;
  begin(&made, trace);
  platelag_error error = {0};
  assert_int_equal(plag_map_straighten(&made.model, &error), PLATELAG_OK);
  assert_true(made.model.straight);
  for (double command = 5.1; command < 95.0; command += 2.3)
    assert_close(platelag_fit_target_pct(&made.fit, trace, command), on_line(command), 0.0, 0.5);
  assert_close(made.fit.map_low_pct, CLOSED_PCT, 0.0, 0.2);
  assert_close(made.fit.map_high_pct, OPEN_PCT, 0.0, 0.2);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void too_few_rests_tell_none(void **state) {
  (void)state;
  platelag_trace *trace = make_trace(17);
  plag_test_model made;
  begin(&made, trace);
  platelag_error error = {0};
  assert_int_equal(plag_map_straighten(&made.model, &error), PLATELAG_OK);
  assert_false(made.model.straight);
  assert_close(platelag_fit_target_pct(&made.fit, trace, 47.1), on_line(47.1) + 9.0, 0.0, 1e-9);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_rests_tells_the_line),
      cmocka_unit_test(too_few_rests_tell_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
