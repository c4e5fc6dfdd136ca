/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A closed loop is told from an open one by what the duty does: with free plates and with plates
 * that stick, and what the effort says of their friction. A dozen lines of a controller stand in
 * for a vehicle; the physics of src/practice are tested in tests/recovery/test_closed_loop.c. */
#include "support/check.h"

#include <math.h>

#include "model/effort.h"
#include "model/loop.h"
#include "support/made_model.h"
#include "support/made_random.h"
#include "support/made_trace.h"

enum { SAMPLES = 4000 };
#define PERIOD_S 0.1
#define SEED     6211

typedef struct story {
  const char *what;
  double withstood_pct, left_pct; /* friction: pull to leave, pull where they stop */
  double band_low, band_high;     /* of the stick band by effort; NaN: not asked */
  bool controlled; /* duty by proportion and integral of the error; else it is what is desired */
  bool desired;    /* recorded beside the duty */
  bool closed;
} story;

static const story stories[] = {
    {"open, free", 0.4, 0.3, NAN, NAN, false, false, false},
    {"open, sticking", 13.1, 5.3, NAN, NAN, false, false, false},
    {"closed, free", 0.4, 0.3, NAN, NAN, true, false, true},
    {"closed, sticking", 13.1, 5.3, 14.0, 22.0, true, false, true},
    {"closed, desired recorded, free", 0.4, 0.3, 0.0, 5.0, true, true, false},
    {"closed, desired recorded, sticking", 13.1, 5.3, 14.0, 22.0, true, true, false},
};

/* duty = 11.3 + 0.77 * place, for plates without friction */
static void drive(const story *s, double *duty, double *desired, double *level) {
  plag_test_random random = {SEED};
  bool moves = false;
  double place = 37.9, integral = 0.0, goal = 37.9, next_s = 2.0;
  for (size_t i = 0; i < SAMPLES; i++) {
    const double now_s = PERIOD_S * (double)i;
    if (now_s >= next_s) {
      goal = plag_test_random_uniform(&random, 9.0, 91.0);
      next_s = now_s + plag_test_random_uniform(&random, 2.3, 6.1);
    }
    for (int k = 0; k < 10; k++) { /* 10 ms each */
      const double error = goal - place + 0.3 * plag_test_random_normal(&random);
      integral = s->controlled ? fmin(fmax(integral + 0.019 * error, -35.0), 35.0) : 0.0;
      const double feed = 11.3 + 0.77 * goal;
      duty[i] = fmin(fmax(feed + (s->controlled ? 0.7 * error + integral : 0.0), 0.0), 100.0);
      const double pull = (duty[i] - 11.3) / 0.77 - place;
      moves = fabs(pull) > (moves ? s->left_pct : s->withstood_pct);
      if (moves)
        place += 0.13 * copysign(fabs(pull) - s->left_pct, pull);
      place = fmin(fmax(place, 0.0), 100.0);
    }
    duty[i] = floor(duty[i] * 2.55 + 0.5) / 2.55;
    desired[i] = 1.2 + 0.0255 * goal;
    level[i] = 1.2 + 0.0255 * (place + 0.17 * plag_test_random_normal(&random));
  }
}

static void check(const story *s) {
  static double time_s[SAMPLES], duty[SAMPLES], desired[SAMPLES], level[SAMPLES];
  for (size_t i = 0; i < SAMPLES; i++)
    time_s[i] = PERIOD_S * (double)i;
  drive(s, duty, desired, level);
  const plag_test_samples samples = {
      .command_count = SAMPLES,
      .command_time_s = time_s,
      .command = s->desired ? desired : duty,
      .desired = s->desired,
      .effort_count = s->desired ? SAMPLES : 0,
      .effort_time_s = time_s,
      .effort = duty,
      .position_count = SAMPLES,
      .position_time_s = time_s,
      .level = level,
      .closed_level = 1.20,
      .open_level = 3.75,
  };
  platelag_trace *trace = plag_test_trace_make(&samples);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, 0.02, 0.1, 0.1);
  made.model.noise_pct = 0.19;
  made.fit.coverage.position_span_pct = 80.0;
  made.fit.coverage.recorded_s = PERIOD_S * SAMPLES;
  platelag_error error = {0};
  assert_int_equal(plag_travel_measure(&made.model, &error), PLATELAG_OK);
  assert_int_equal(plag_loop_look(&made.model, &error), PLATELAG_OK);
  assert_int_equal(plag_effort_find(&made.model, &error), PLATELAG_OK);
  assert_int_equal(plag_loop_measure_effort(&made.model, &error), PLATELAG_OK);
  const platelag_estimate *band = &made.fit.friction.stick_band_pct;
  print_message("%s (seed %d): lead %.2f, restless %.2f, band %.1f, at most %.1f\n", s->what, SEED,
                made.fit.loop.lead_correlation, made.fit.loop.restless_share, band->value,
                band->high);
  assert_int_equal(made.fit.loop.closed, s->closed);
  if (!s->controlled)
    assert_int_equal(band->known, PLATELAG_KNOWN_NOTHING);
  if (isfinite(s->band_low) && s->withstood_pct > 1.0)
    assert_between(band->value, s->band_low, s->band_high);
  else if (isfinite(s->band_low))
    assert_between(band->high, s->band_low, s->band_high);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void loops_are_told_apart(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof stories / sizeof stories[0]; k++)
    check(&stories[k]);
}

/* S = withstood + left, J = withstood - left; each 1.645 sd of a median of so many slips either way
 * (sqrt(pi / 2) times that of a mean), the sd at least 0.5 %, and 0.5 % for the line. By hand. */
static void slips_tell_friction_with_its_interval(void **state) {
  (void)state;
  static const struct {
    size_t slips;
    double withstood_pct, left_pct, scatter_pct;
    double band_pct, jump_pct, half_pct; /* half NaN: an upper limit, twice the stray */
  } rows[] = {
      {11, 9.7, 4.1, 2.3, 13.8, 5.6, 1.92973}, {23, 9.7, 4.1, 0.2, 13.8, 5.6, 0.71494},
      {5, 9.7, 4.1, 2.3, NAN, NAN, NAN},  /* too few */
      {11, 9.7, 6.1, 2.3, NAN, NAN, NAN}, /* hardly a jump */
      {11, 9.7, 4.1, 8.9, NAN, NAN, NAN}, /* they scatter like no friction */
  };
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    const plag_effort effort = {.known = true,
                                .stray_pct = 1.37,
                                .slips = rows[k].slips,
                                .withstood_pct = rows[k].withstood_pct,
                                .left_pct = rows[k].left_pct,
                                .scatter_pct = rows[k].scatter_pct};
    const plag_test_plant plant = {.duration_s = 10.0, .rows_per_second = 5.0};
    const plag_test_step step = {0.0, 47.3};
    platelag_trace *trace = plag_test_trace_simulate(&plant, &step, 1);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    made.model.effort = &effort;
    assert_int_equal(plag_loop_measure_effort(&made.model, NULL), PLATELAG_OK);
    const platelag_friction *told = &made.fit.friction;
    if (isnan(rows[k].half_pct)) {
      assert_int_equal(told->stick_band_pct.known, PLATELAG_KNOWN_UPPER_LIMIT);
      assert_close(told->stick_band_pct.high, 2.74, 1e-12, 0);
    } else {
      assert_close(told->stick_band_pct.value, rows[k].band_pct, 1e-12, 0);
      assert_close(told->stick_band_pct.high, rows[k].band_pct + rows[k].half_pct, 0, 1e-4);
      assert_close(told->slip_jump_pct.value, rows[k].jump_pct, 1e-12, 0);
      assert_close(told->slip_jump_pct.low, rows[k].jump_pct - rows[k].half_pct, 0, 1e-4);
      assert_close(told->moving_pct.value, rows[k].left_pct, 1e-12, 0);
    }
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(slips_tell_friction_with_its_interval),
      cmocka_unit_test(loops_are_told_apart),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
