/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures of the signal, on a small trace worked by hand: time at the rails, void spans, where they
 * begin and whether they come back, repeats of the last digit. The modes are stated, not decoded.
 */
#include "support/check.h"

#include <math.h>

#include "model/guess.h"
#include "model/signal.h"
#include "support/made_model.h"
#include "support/made_trace.h"

enum { SAMPLES = 400, MOST_SPANS = 8 };
#define PERIOD_S 0.1

typedef struct story {
  const char *what;
  size_t spans;
  size_t at[MOST_SPANS], length[MOST_SPANS];
  double volts; /* of the lost readings */
  size_t dropouts;
  double high_share, low_share, longest_high_s, longest_low_s;
  double first_high_s; /* < 0: never */
  double spread_pct, moving_share;
} story;

/* A slow triangle, 20 s up and 20 s down, of 2.55 V: 0.5 % of travel a sample. */
static const story stories[] = {
    {"nothing lost", 0, {0}, {0}, 0.0, 0, 0.0, 0.0, 0.0, 0.0, -1.0, NAN, 0.0},
    {"three drops, one place",
     3,
     {101, 103, 299},
     {1, 2, 2},
     0.07,
     3,
     0.0,
     0.0125,
     0.0,
     0.2,
     -1.0,
     0.0,
     0.0},
    {"drops at three places",
     3,
     {41, 103, 171},
     {3, 2, 4},
     0.07,
     3,
     0.0,
     0.0225,
     0.0,
     0.4,
     -1.0,
     45.961,
     0.0},
    {"high for 6.3 s and to the end",
     2,
     {71, 380},
     {63, 20},
     4.87,
     1,
     0.2075,
     0.0,
     6.3,
     0.0,
     7.5,
     NAN,
     0.5},
};

static double triangle_v(size_t sample) {
  const double share = 2.0 * (double)(sample <= SAMPLES / 2 ? sample : SAMPLES - sample) / SAMPLES;
  return 1.20 + 2.55 * share;
}

static void check(const story *s) {
  static double time_s[SAMPLES], command[SAMPLES], level[SAMPLES];
  for (size_t i = 0; i < SAMPLES; i++) {
    time_s[i] = PERIOD_S * (double)i;
    level[i] = triangle_v(i);
    command[i] = 100.0 * (level[i] - 1.20) / 2.55;
  }
  const plag_test_samples samples = {
      .command_count = SAMPLES,
      .command_time_s = time_s,
      .command = command,
      .position_count = SAMPLES,
      .position_time_s = time_s,
      .level = level,
      .closed_level = 1.20,
      .open_level = 3.75,
  };
  platelag_trace *trace = plag_test_trace_make(&samples);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  made.model.noise_pct = 0.23;
  for (size_t k = 0; k < s->spans; k++)
    for (size_t i = s->at[k]; i < s->at[k] + s->length[k]; i++) {
      ((double *)trace->level)[i] = s->volts;
      made.model.mode[i] = s->volts > 2.5 ? PLATELAG_MODE_RAIL_HIGH : PLATELAG_MODE_RAIL_LOW;
      made.model.valid_count--;
    }
  plag_guess guess;
  plag_guess_build(trace, &guess);
  platelag_error error = {0};
  assert_int_equal(plag_signal_measure(&made.model, &guess, &error), PLATELAG_OK);
  const platelag_signal *signal = &made.fit.signal;
  print_message("%s: %zu void, %zu back, spread %.2f\n", s->what, signal->void_count,
                signal->dropout_count, signal->void_travel_spread_pct);
  assert_true(signal->rails_visible);
  assert_int_equal(signal->void_count, s->spans);
  assert_int_equal(signal->dropout_count, s->dropouts);
  assert_close(signal->high_share, s->high_share, 0.0, 1e-9);
  assert_close(signal->low_share, s->low_share, 0.0, 1e-9);
  assert_close(signal->longest_high_s, s->longest_high_s, 0.0, 1e-9);
  assert_close(signal->longest_low_s, s->longest_low_s, 0.0, 1e-9);
  if (s->first_high_s < 0.0)
    assert_int_equal(signal->first_high_ns, -1);
  else
    assert_close(platelag_seconds(signal->first_high_ns), s->first_high_s, 0.0, 1e-9);
  assert_close(signal->void_travel_spread_pct, s->spread_pct, 0.0, 0.01);
  assert_close(signal->moving_share, s->moving_share, 0.0, 1e-9);
  assert_close(signal->repeat_share, 0.0, 0.0, 1e-12); /* a triangle never repeats */
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

static void figures_are_right(void **state) {
  (void)state;
  for (size_t k = 0; k < sizeof stories / sizeof stories[0]; k++)
    check(&stories[k]);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(figures_are_right),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
