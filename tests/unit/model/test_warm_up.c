/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Held time, cold against warm, on a small trace worked by hand: by coolant temperature where it
 * rises enough, else by time, and nothing where the plates were pulled too seldom. */
#include "support/check.h"

#include <math.h>

#include "support/made_model.h"
#include "support/made_trace.h"

enum { SAMPLES = 900 }; /* 300 s */
#define PERIOD_S (1.0 / 3.0)

typedef struct story {
  const char *what;
  double from_c, to_c;         /* NaN: not recorded */
  double pulled_share;         /* of the time, in turns of 10 s */
  double cold_held, warm_held; /* of the pulled time, in the first and second half */
  double warmed_by;            /* share of the time after which the coolant is warm */
  bool by_temperature, told;
} story;

static const story stories[] = {
    {"eases as the coolant warms", 21.3, 88.7, 1.0, 0.8, 0.2, 1.0, true, true},
    {"the same without the coolant", NAN, NAN, 1.0, 0.8, 0.2, 1.0, false, true},
    {"coolant that hardly warms", 83.1, 87.2, 1.0, 0.8, 0.2, 1.0, false, true},
    {"warm after a third of the drive", 21.3, 88.7, 1.0, 0.4, 0.4, 0.31, true, true},
    {"no change", 21.3, 88.7, 1.0, 0.4, 0.4, 1.0, true, true},
    {"hardly ever pulled", 21.3, 88.7, 0.1, 0.8, 0.2, 1.0, true, false},
};

static void check(const story *s) {
  static double time_s[SAMPLES], command[SAMPLES], level[SAMPLES], coolant[SAMPLES];
  for (size_t i = 0; i < SAMPLES; i++) {
    time_s[i] = PERIOD_S * (double)i;
    const double phase = fmod(time_s[i], 10.0) / 10.0;
    level[i] = 43.7;
    command[i] = phase < s->pulled_share ? 71.9 : 43.7;
    coolant[i] =
        s->from_c + (s->to_c - s->from_c) * fmin((double)i / (SAMPLES * s->warmed_by), 1.0);
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
  trace->command_kind = PLATELAG_COMMAND_DUTY;
  trace->command_lowest = 0.0;
  trace->command_highest = 100.0;
  if (isfinite(s->from_c))
    plag_test_trace_add(trace, PLATELAG_ROLE_COOLANT_TEMPERATURE, time_s, coolant, SAMPLES);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  plag_test_model_set_response(&made, 0.0, 0.1, 0.1);
  for (size_t i = 0; i < SAMPLES; i++) {
    const double share = i < SAMPLES / 2 ? s->cold_held : s->warm_held;
    if (fmod(time_s[i], 10.0) / 10.0 < share * s->pulled_share)
      made.model.mode[i] = PLATELAG_MODE_HELD;
  }
  platelag_error error = {0};
  assert_int_equal(plag_warm_up_compare(&made.model, &error), PLATELAG_OK);
  const platelag_warm_up *warm_up = &made.fit.warm_up;
  print_message("%s\n", s->what);
  assert_int_equal(warm_up->by_temperature, s->by_temperature);
  assert_int_equal(warm_up->held_share_cold.known == PLATELAG_KNOWN_VALUE, s->told);
  assert_int_equal(warm_up->held_share_warm.known == PLATELAG_KNOWN_VALUE, s->told);
  if (s->told) {
    assert_close(warm_up->held_share_cold.value, s->cold_held, 0.0, 0.03);
    assert_close(warm_up->held_share_warm.value, s->warm_held, 0.0, 0.03);
    assert_true(warm_up->held_share_cold.low < s->cold_held &&
                s->cold_held < warm_up->held_share_cold.high);
    assert_true(warm_up->held_share_warm.low < s->warm_held &&
                s->warm_held < warm_up->held_share_warm.high);
  }
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void thirds_are_compared(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof stories / sizeof stories[0]; k++)
    check(&stories[k]);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(thirds_are_compared),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
