/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where plates went, on small traces worked by hand: rest levels at the ends of the command,
 * whether these were asked for long enough, and whether they are the stops; a lag that is known
 * better later tells the rests anew. */
#include "support/check.h"

#include <math.h>

#include "support/made_model.h"
#include "support/made_trace.h"

enum { SAMPLES = 400 };

typedef struct story {
  const char *what;
  double low_v, high_v; /* where the plates rest */
  double low_s, high_s; /* how long the command stands at either end */
  double closed_pct, open_pct;
  bool closed_asked, open_asked, closed_reached, open_reached;
} story;

/* Stops at 1.20 and 3.75 V: 25.5 mV are 1 % of travel. */
static const story stories[] = {
    {"from stop to stop", 1.217, 3.731, 2.3, 1.9, 0.667, 99.255, true, true, true, true},
    {"short of the open stop", 1.217, 3.187, 2.3, 1.9, 0.667, 77.922, true, true, true, false},
    {"short of the closed stop", 1.711, 3.731, 2.3, 1.9, 20.039, 99.255, true, true, false, true},
    {"the open end never asked for long", 1.217, 3.731, 2.3, 0.7, 0.667, NAN, true, false, true,
     false},
};

static platelag_trace *make_trace(const story *s) {
  static double time_s[SAMPLES], command[SAMPLES], level[SAMPLES];
  const double turn_s = s->low_s + s->high_s;
  for (size_t i = 0; i < SAMPLES; i++) {
    time_s[i] = 0.1 * (double)i;
    const bool high = fmod(time_s[i] + 1e-6, turn_s) >= s->low_s;
    command[i] = high ? 96.5 : 3.1;
    level[i] = high ? s->high_v : s->low_v;
  }
  command[1] = 51.3; /* more than two levels: a duty */
  const plag_test_samples samples = {
      .command_count = SAMPLES,
      .command_time_s = time_s,
      .command = command,
      .position_count = SAMPLES,
      .position_time_s = time_s,
      .level = level,
      .closed_level = 1.20,
      .open_level = 3.75,
      .scale = PLATELAG_SCALE_SPEC,
  };
  return plag_test_trace_make(&samples);
}

/* A story's trace, which the model is of, with quick plates; the caller ends both. */
static platelag_trace *begin(const story *s, plag_test_model *made) {
  platelag_trace *trace = make_trace(s);
  plag_test_model_begin(made, trace);
  plag_test_model_set_response(made, 0.031, 0.083, 0.083);
  return trace;
}

static void check(const story *s) {
  plag_test_model made;
  platelag_trace *trace = begin(s, &made);
  platelag_error error = {0};
  assert_int_equal(plag_travel_measure(&made.model, &error), PLATELAG_OK);
  const platelag_travel *travel = &made.fit.travel;
  print_message("%s\n", s->what);
  assert_close(travel->rest_closed_pct, s->closed_pct, 0.0, 0.001);
  assert_close(travel->rest_open_pct, s->open_pct, 0.0, 0.001);
  assert_int_equal(travel->closed_asked, s->closed_asked);
  assert_int_equal(travel->open_asked, s->open_asked);
  assert_int_equal(travel->closed_stop_reached, s->closed_reached);
  assert_int_equal(travel->open_stop_reached, s->open_reached);
  assert_close(travel->lowest_pct, (s->low_v - 1.20) / 0.0255, 0.0, 0.001);
  assert_close(travel->highest_pct, (s->high_v - 1.20) / 0.0255, 0.0, 0.001);
  assert_close(travel->closed_v, 1.20, 0.0, 1e-12);
  assert_close(travel->open_v, 3.75, 0.0, 1e-12);
  assert_close(travel->visited_share, 2.0 / 20.0, 0.0, 1e-12);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void rests_are_told_right(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof stories / sizeof stories[0]; k++)
    check(&stories[k]);
}

/* Slow plates settle in 1.88 s: longer than the open end is ever asked for before its last reading,
 * shorter than the closed end is. Where readings lie stands as it was. */
static void a_better_lag_tells_the_rests_anew(void **state) {
  (void)state;
  const story *s = &stories[0];
  plag_test_model made;
  platelag_trace *trace = begin(s, &made);
  platelag_error error = {0};
  assert_int_equal(plag_travel_measure(&made.model, &error), PLATELAG_OK);
  const platelag_travel before = made.fit.travel;
  plag_test_model_set_response(&made, 0.031, 0.617, 0.593);
  assert_int_equal(plag_travel_measure_rests(&made.model, &error), PLATELAG_OK);
  const platelag_travel *after = &made.fit.travel;
  assert_true(before.open_asked && !after->open_asked);
  assert_true(before.closed_asked && after->closed_asked);
  assert_true(isnan(after->rest_open_pct));
  assert_close(after->rest_closed_pct, s->closed_pct, 0.0, 0.001);
  assert_false(after->open_stop_reached);
  assert_true(after->closed_stop_reached);
  assert_close(after->lowest_pct, before.lowest_pct, 0.0, 0.0);
  assert_close(after->highest_pct, before.highest_pct, 0.0, 0.0);
  assert_close(after->visited_share, before.visited_share, 0.0, 0.0);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

/* Void readings are no rests and lie nowhere. */
static void void_readings_do_not_count(void **state) {
  (void)state;
  const story *s = &stories[0];
  plag_test_model made;
  platelag_trace *trace = begin(s, &made);
  for (size_t i = 0; i < SAMPLES; i++)
    if (trace->level[i] == s->high_v)
      made.model.mode[i] = PLATELAG_MODE_ERRATIC;
  platelag_error error = {0};
  assert_int_equal(plag_travel_measure(&made.model, &error), PLATELAG_OK);
  const platelag_travel *travel = &made.fit.travel;
  assert_close(travel->highest_pct, s->closed_pct, 0.0, 0.001);
  assert_close(travel->visited_share, 1.0 / 20.0, 0.0, 1e-12);
  assert_true(travel->closed_asked && !travel->open_asked);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rests_are_told_right),
      cmocka_unit_test(a_better_lag_tells_the_rests_anew),
      cmocka_unit_test(void_readings_do_not_count),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
