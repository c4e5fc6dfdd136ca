/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Held intervals of small traces worked by hand: when plates that stand count as held, by the map
 * and by the effort, and when not; what is told of each. The response is stated, not fitted. */
#include "support/check.h"

#include <math.h>

#include "model/effort.h"
#include "model/held.h"
#include "support/made_model.h"
#include "support/made_trace.h"

enum { SAMPLES = 120 };
#define PERIOD_S 0.1
#define FROM_S   2.0 /* the command asks away */
#define SLIP_S   5.45

/* Plates stand at `place` from the start, are asked to `asked` from FROM_S on, and go there at
 * SLIP_S, where they do. */
typedef struct story {
  const char *what;
  double place, asked, lands;
  double lowest_pct, highest_pct; /* where the plates were seen in all */
  double ripple_pct;              /* of the readings, up and down */
  double duty_per_s;              /* how the duty grows from FROM_S on, % */
  /* a desired position; a controller's duty alone; one that nobody knows the places of */
  enum { BY_MAP, BESIDE_DUTY, BY_DUTY, BY_GROWTH } pulled;
  platelag_level_unit unit;
  size_t held;
  double pull_pct, effort_pct, jump_pct;
} story;

static const story stories[] = {
    {"stands while asked to open, then jumps", 41.3, 73.7, 70.2, 0.0, 100.0, 0.07, 0.0, BY_MAP,
     PLATELAG_LEVEL_VOLT, 1, 32.4, NAN, 28.9},
    {"stands while asked to close, then jumps", 68.9, 31.1, 33.8, 0.0, 100.0, 0.07, 0.0, BY_MAP,
     PLATELAG_LEVEL_VOLT, 1, -37.8, NAN, -35.1},
    {"asked by less than counts", 41.3, 45.9, 45.9, 0.0, 100.0, 0.07, 0.0, BY_MAP,
     PLATELAG_LEVEL_VOLT, 0, 0.0, 0.0, 0.0},
    {"asked beyond where plates go at all", 84.6, 97.3, 84.6, 0.0, 84.7, 0.07, 0.0, BY_MAP,
     PLATELAG_LEVEL_VOLT, 0, 0.0, 0.0, 0.0},
    {"cut off at an end of % open", 0.0, 37.9, 37.9, 0.0, 100.0, 0.0, 0.0, BY_MAP,
     PLATELAG_LEVEL_PCT_OPEN, 0, 0.0, 0.0, 0.0},
    {"stands near that end, with its noise", 0.9, 37.9, 37.9, 0.0, 100.0, 0.07, 0.0, BY_MAP,
     PLATELAG_LEVEL_PCT_OPEN, 1, 37.0, NAN, 37.0},
    {"a controller's duty climbs while they stand", 41.3, 46.1, 46.1, 0.0, 100.0, 0.07, 6.7,
     BESIDE_DUTY, PLATELAG_LEVEL_VOLT, 1, 4.8, 30.7, 4.8},
    {"the same to close", 46.1, 41.3, 41.3, 0.0, 100.0, 0.07, -6.7, BESIDE_DUTY,
     PLATELAG_LEVEL_VOLT, 1, -4.8, -30.7, -4.8},
    {"its duty stays at what the spring needs", 41.3, 46.1, 46.1, 0.0, 100.0, 0.07, 0.0,
     BESIDE_DUTY, PLATELAG_LEVEL_VOLT, 0, 0.0, 0.0, 0.0},
    {"its duty climbs the other way", 41.3, 46.1, 46.1, 0.0, 100.0, 0.07, -6.7, BESIDE_DUTY,
     PLATELAG_LEVEL_VOLT, 0, 0.0, 0.0, 0.0},
    {"a duty that climbs is the command", 41.3, 46.1, 72.9, 0.0, 100.0, 0.07, 6.7, BY_DUTY,
     PLATELAG_LEVEL_VOLT, 1, 29.6, 29.6, 30.5},
    {"a duty that stays, as the command", 41.3, 46.1, 41.3, 0.0, 100.0, 0.07, 0.0, BY_DUTY,
     PLATELAG_LEVEL_VOLT, 0, 0.0, 0.0, 0.0},
    {"asked for more since they stand", 41.3, 73.7, 70.2, 0.0, 100.0, 0.07, 0.0, BY_GROWTH,
     PLATELAG_LEVEL_VOLT, 1, 32.4, NAN, 28.9},
    {"asked for less since they stand", 41.3, 17.9, 19.3, 0.0, 100.0, 0.07, 0.0, BY_GROWTH,
     PLATELAG_LEVEL_VOLT, 1, -23.4, NAN, -22.0},
    {"asked for little more", 41.3, 45.9, 45.9, 0.0, 100.0, 0.07, 0.0, BY_GROWTH,
     PLATELAG_LEVEL_VOLT, 0, 0.0, 0.0, 0.0},
};

/* Plates that stand this much off what is asked from the start: only what is asked since counts. */
static const double growth_off = 9.7;

static const double duty_at_closed = 11.7, duty_per_pct = 0.73;

/* `last_asked`: by the reading before SLIP_S it is felt. */
static platelag_trace *tell(const story *s, double last_asked) {
  static double time_s[SAMPLES], command[SAMPLES], level[SAMPLES], duty[SAMPLES];
  for (size_t i = 0; i < SAMPLES; i++) {
    time_s[i] = PERIOD_S * (double)i;
    const bool asked = time_s[i] >= FROM_S;
    const bool last = time_s[i] > SLIP_S - 2.0 * PERIOD_S;
    const double ripple = i % 2 == 0 ? s->ripple_pct : -s->ripple_pct;
    command[i] = last ? last_asked : asked ? s->asked : s->place;
    command[i] += s->pulled == BY_GROWTH ? growth_off : 0.0;
    level[i] = (time_s[i] < SLIP_S ? s->place : s->lands) + ripple;
    duty[i] = duty_at_closed + duty_per_pct * s->place +
              (asked ? s->duty_per_s * fmin(time_s[i] - FROM_S, SLIP_S - FROM_S) : 0.0);
  }
  plag_test_samples samples = {
      .command_count = SAMPLES,
      .command_time_s = time_s,
      .command = s->pulled == BY_DUTY ? duty : command,
      .desired = s->pulled == BESIDE_DUTY,
      .position_count = SAMPLES,
      .position_time_s = time_s,
      .level = level,
      .unit = s->unit,
      .closed_level = 0.0,
      .open_level = 100.0,
  };
  if (s->pulled == BESIDE_DUTY) {
    samples.effort_count = SAMPLES;
    samples.effort_time_s = time_s;
    samples.effort = duty;
  }
  platelag_trace *trace = plag_test_trace_make(&samples);
  trace->command_kind = s->pulled == BESIDE_DUTY ? PLATELAG_COMMAND_DESIRED : PLATELAG_COMMAND_DUTY;
  trace->command_lowest = 0.0;
  trace->command_highest = 100.0;
  return trace;
}

static void check(const story *s) {
  platelag_trace *trace = tell(s, s->asked);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, 0.053, 0.117, 0.117);
  made.model.noise_pct = 0.19;
  made.fit.travel.lowest_pct = s->lowest_pct;
  made.fit.travel.highest_pct = s->highest_pct;
  const platelag_channel *duty = s->pulled == BY_DUTY ? trace->command : trace->effort;
  const plag_effort effort = {
      duty, s->pulled != BY_GROWTH, duty_at_closed, duty_per_pct, 0.7, 0, NAN, NAN, NAN};
  made.model.effort = s->pulled != BY_MAP ? &effort : NULL;
  platelag_error error = {0};
  assert_int_equal(plag_held_find(&made.model, &error), PLATELAG_OK);
  if (made.fit.held_count != s->held)
    fail_msg("%s: %zu held", s->what, made.fit.held_count);
  if (s->held > 0) {
    const platelag_held *held = &made.fit.held[0];
    assert_between(platelag_seconds(held->from_ns), FROM_S,
                   FROM_S + (s->pulled != BY_MAP ? 1.5 : 0.5));
    assert_close(platelag_seconds(held->to_ns), SLIP_S - 0.05, 0.0, 0.01);
    assert_close(held->position_pct, s->place, 0.0, 0.1);
    if (s->pulled != BY_DUTY)
      assert_close(held->command_pct, s->asked + (s->pulled == BY_GROWTH ? growth_off : 0.0), 0.0,
                   1e-6);
    assert_close(held->pull_pct, s->pull_pct, 0.0, 0.2);
    assert_close(held->effort_pull_pct, s->effort_pct, 0.05, 0.2);
    assert_close(held->release_jump_pct, s->jump_pct, 0.0, 0.3);
    /* Of the time in which they were off what was asked. */
    assert_between(made.fit.held_share, s->pulled >= BY_DUTY ? 0.25 : 0.9, 1.0);
    const size_t jumps = fabs(s->jump_pct) >= 3.0;
    assert_int_equal(made.fit.signal.jumps, jumps);
    assert_int_equal(made.fit.signal.jumps_towards, jumps);
    assert_int_equal(made.fit.signal.jumps_command_still, s->pulled == BY_DUTY ? 0 : jumps);
    const double lasted_s = platelag_seconds(held->to_ns - held->from_ns);
    assert_close(made.fit.held_profile_pct[(int)(s->place / 5.0)], lasted_s, 0.0, 1e-9);
    const size_t inside = (size_t)((held->from_ns + held->to_ns) / 200000000);
    assert_int_equal(made.model.mode[inside], PLATELAG_MODE_HELD);
    assert_int_equal(made.model.mode[3], PLATELAG_MODE_FOLLOWING);
  }
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void stories_are_told_right(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof stories / sizeof stories[0]; k++)
    check(&stories[k]);
}

/* Void readings interrupt a stand without ending it. */
static void a_lost_reading_does_not_end_a_stand(void **state) {
  (void)state;
  platelag_trace *trace = tell(&stories[0], stories[0].asked);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, 0.053, 0.117, 0.117);
  made.model.noise_pct = 0.19;
  made.fit.travel.highest_pct = 100.0;
  for (size_t i = 33; i < 37; i++) {
    ((double *)trace->level)[i] = -31.7;
    made.model.mode[i] = PLATELAG_MODE_RAIL_LOW;
  }
  platelag_error error = {0};
  assert_int_equal(plag_held_find(&made.model, &error), PLATELAG_OK);
  assert_int_equal(made.fit.held_count, 1);
  assert_close(platelag_seconds(made.fit.held[0].to_ns), SLIP_S - 0.05, 0.0, 0.01);
  assert_int_equal(made.model.mode[35], PLATELAG_MODE_RAIL_LOW);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

/* What let the plates go is not what held them: only what they withstood counts. */
static void the_pull_that_frees_does_not_count(void **state) {
  (void)state;
  for (int closing = 0; closing < 2; closing++) {
    const double sign = closing ? -1.0 : 1.0;
    story s = stories[0];
    s.place = 51.7;
    s.asked = 51.7 + sign * 17.3;
    s.lands = 51.7 + sign * 38.9;
    platelag_trace *trace = tell(&s, s.lands);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    plag_test_model_set_response(&made, 0.053, 0.117, 0.117);
    made.model.noise_pct = 0.19;
    made.fit.travel.highest_pct = 100.0;
    platelag_error error = {0};
    assert_int_equal(plag_held_find(&made.model, &error), PLATELAG_OK);
    assert_int_equal(made.fit.held_count, 1);
    assert_close(made.fit.held[0].pull_pct, sign * 17.3, 0.0, 0.2);
    assert_close(made.fit.held[0].command_pct, s.lands, 0.0, 1e-6);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* What the noise may do by itself is no jump: six of its sd. */
static void a_jump_stands_out_of_the_noise(void **state) {
  (void)state;
  for (int noisy = 0; noisy < 2; noisy++) {
    platelag_trace *trace = tell(&stories[0], stories[0].asked);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    plag_test_model_set_response(&made, 0.053, 0.117, 0.117);
    made.model.noise_pct = stories[0].jump_pct / (noisy ? 5.7 : 6.3);
    made.fit.travel.highest_pct = 100.0;
    platelag_error error = {0};
    assert_int_equal(plag_held_find(&made.model, &error), PLATELAG_OK);
    assert_int_equal(made.fit.held_count, 1);
    assert_int_equal(made.fit.signal.jumps, noisy ? 0 : 1);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* Plates are held from where free ones would be gone, however long these take: with 2.3 s of tau
 * they leave by the least pull half a second after they are asked. */
static void slow_plates_are_not_held_at_once(void **state) {
  (void)state;
  const double tau_s = 2.3, dead_time_s = 0.053;
  platelag_trace *trace = tell(&stories[0], stories[0].asked);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, dead_time_s, tau_s, tau_s);
  made.model.noise_pct = 0.19;
  made.fit.travel.highest_pct = 100.0;
  const double asked_pct = stories[0].asked - stories[0].place;
  const double gone_s = FROM_S - 0.5 * PERIOD_S + dead_time_s -
                        tau_s * log(1.0 - plag_held_least_pull_pct(&made.model) / asked_pct);
  platelag_error error = {0};
  assert_int_equal(plag_held_find(&made.model, &error), PLATELAG_OK);
  assert_int_equal(made.fit.held_count, 1);
  print_message("free plates are gone at %.2f s\n", gone_s);
  assert_true(gone_s > FROM_S + 3.0 * PERIOD_S);
  assert_between(platelag_seconds(made.fit.held[0].from_ns), gone_s, gone_s + PERIOD_S);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(stories_are_told_right),
      cmocka_unit_test(a_lost_reading_does_not_end_a_stand),
      cmocka_unit_test(the_pull_that_frees_does_not_count),
      cmocka_unit_test(a_jump_stands_out_of_the_noise),
      cmocka_unit_test(slow_plates_are_not_held_at_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
