/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Other channels beside the position, on small records worked by hand: air that answers the
 * command, or only the throttle; current; a supply or a reference that sags while readings are
 * lost; a lag that goes with the supply. */
#include "support/check.h"

#include <math.h>

#include "support/made_model.h"
#include "support/made_random.h"
#include "support/made_trace.h"

enum { SAMPLES = 2000, STEPS = 60, SPANS = 8 };
#define PERIOD_S 0.1
#define SEED     7079

typedef struct story {
  const char *what;
  double air_by_command; /* kPa for a full step */
  double air_by_throttle;
  bool throttle;                        /* recorded */
  double current;                       /* A while commanded; NaN: not recorded */
  double supply_sag_v, reference_sag_v; /* while readings are lost */
  double lag_by_supply_s;               /* more for each V less */
  double least_answer, most_answer;     /* |t|; NaN: unknown */
  double supply_share, reference_share, correlation;
} story;

static const story stories[] = {
    {"air answers the command", 2.7, 11.3, true, 0.93, 0.0, 0.0, 0.0, 5.0, INFINITY, 0.0, 0.0, NAN},
    {"air follows the throttle alone", 0.0, 11.3, true, NAN, 0.0, 0.0, 0.0, 0.0, 3.5, 0.0, 0.0,
     NAN},
    {"no throttle: the air says nothing", 2.7, 11.3, false, NAN, 0.0, 0.0, 0.0, NAN, NAN, 0.0, 0.0,
     NAN},
    {"no current in spite of the command", 2.7, 11.3, true, 0.004, 0.0, 0.0, 0.0, 5.0, INFINITY,
     0.0, 0.0, NAN},
    {"the supply sags with lost readings", 2.7, 11.3, true, 0.93, 3.7, 0.0, 0.0, 5.0, INFINITY, 1.0,
     0.0, NAN},
    {"the reference sags with them", 2.7, 11.3, true, 0.93, 0.0, 0.61, 0.0, 5.0, INFINITY, 0.0, 1.0,
     NAN},
    {"slower with less supply", 2.7, 11.3, true, 0.93, 0.0, 0.0, 0.37, 5.0, INFINITY, 0.0, 0.0,
     -1.0},
};

static double time_s[SAMPLES], command[SAMPLES], level[SAMPLES], throttle[SAMPLES],
    pressure[SAMPLES], current[SAMPLES], supply[SAMPLES], reference[SAMPLES];

/* The command steps every 3 s, the throttle at times of its own. */
static void drive(const story *s) {
  plag_test_random random = {SEED};
  double pedal = 23.0;
  for (size_t i = 0; i < SAMPLES; i++) {
    time_s[i] = PERIOD_S * (double)i;
    const bool open = fmod(time_s[i] + 1e-6, 6.0) >= 3.0;
    command[i] = open ? 91.7 : 7.3;
    if (i % 23 == 7)
      pedal = plag_test_random_uniform(&random, 11.0, 67.0);
    throttle[i] = pedal;
    pressure[i] = 33.7 + s->air_by_throttle * pedal / 50.0 - s->air_by_command * (open ? 1 : 0) +
                  0.13 * plag_test_random_normal(&random);
    current[i] = open ? s->current : 0.5 * s->current;
    supply[i] = 13.1 + 0.8 * sin(0.11 * time_s[i]);
    reference[i] = 5.01;
    level[i] = open ? 88.3 : 9.1;
  }
}

static void check(const story *s) {
  drive(s);
  platelag_mode_span span[SPANS];
  for (size_t k = 0; k < SPANS; k++) {
    const size_t at = 101 + 230 * k;
    span[k] = (platelag_mode_span){.from_ns = (int64_t)(time_s[at] * 1e9),
                                   .to_ns = (int64_t)(time_s[at + 4] * 1e9),
                                   .first_sample = at,
                                   .sample_count = 5,
                                   .mode = PLATELAG_MODE_RAIL_LOW};
    for (size_t i = at - 3; i < at + 8; i++) {
      supply[i] -= s->supply_sag_v;
      reference[i] -= s->reference_sag_v;
    }
  }
  platelag_step step[STEPS];
  for (size_t k = 0; k < STEPS; k++) {
    const size_t at = 30 * (k + 1);
    step[k] = (platelag_step){.at_ns = (int64_t)(time_s[at] * 1e9),
                              .command_from = command[at - 1],
                              .command_to = command[at],
                              .t63_s = 0.41 - s->lag_by_supply_s * (supply[at] - 13.1),
                              .end = PLATELAG_STEP_SETTLED};
  }
  const plag_test_samples samples = {
      .command_count = SAMPLES,
      .command_time_s = time_s,
      .command = command,
      .position_count = SAMPLES,
      .position_time_s = time_s,
      .level = level,
      .closed_level = 0.0,
      .open_level = 100.0,
  };
  platelag_trace *trace = plag_test_trace_make(&samples);
  plag_test_trace_add(trace, PLATELAG_ROLE_MANIFOLD_PRESSURE, time_s, pressure, SAMPLES);
  plag_test_trace_add(trace, PLATELAG_ROLE_BATTERY_VOLTAGE, time_s, supply, SAMPLES);
  plag_test_trace_add(trace, PLATELAG_ROLE_SENSOR_REFERENCE, time_s, reference, SAMPLES);
  if (s->throttle)
    plag_test_trace_add(trace, PLATELAG_ROLE_THROTTLE, time_s, throttle, SAMPLES);
  if (isfinite(s->current))
    plag_test_trace_add(trace, PLATELAG_ROLE_ACTUATOR_CURRENT, time_s, current, SAMPLES);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  made.fit.step = step;
  made.fit.step_count = STEPS;
  made.fit.span = span;
  made.fit.span_count = SPANS;
  platelag_error error = {0};
  assert_int_equal(plag_auxiliary_compare(&made.model, &error), PLATELAG_OK);
  const platelag_auxiliary *found = &made.fit.auxiliary;
  print_message("%s (seed %d): air %.2f, current %.3f A, lag with supply %.2f\n", s->what, SEED,
                found->airflow_answer, found->current_commanded_a, found->lag_supply_correlation);
  if (isnan(s->least_answer))
    assert_true(isnan(found->airflow_answer));
  else
    assert_between(fabs(found->airflow_answer), s->least_answer, s->most_answer);
  /* half of the steps open, half close */
  assert_close(found->current_commanded_a, 0.75 * s->current, 0.0, 0.02);
  assert_close(found->supply_sag_share, s->supply_share, 0.0, 1e-9);
  assert_close(found->reference_sag_share, s->reference_share, 0.0, 1e-9);
  if (isfinite(s->correlation))
    assert_close(found->lag_supply_correlation, s->correlation, 0.0, 0.02);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void other_channels_are_heard(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof stories / sizeof stories[0]; k++)
    check(&stories[k]);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(other_channels_are_heard),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
