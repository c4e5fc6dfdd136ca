/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings that no plate can have made are found where they were put, and nowhere in a healthy
 * record. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>

#include "model/parts.h"
#include "support/made_model.h"
#include "support/made_random.h"
#include "support/made_trace.h"

#define SEED       20260711
#define DURATION_S 231.5
#define MOST_STEPS 400

typedef enum defect { NONE, DROPS, SPIKES, HIGH, LOW, FROZEN, BURST } defect;

/* Steps of the command at random times to random levels. */
static size_t make_steps(plag_test_random *random, double duration_s, plag_test_step *step) {
  size_t count = 0;
  double at_s = 0.0;
  while (at_s < duration_s && count < MOST_STEPS) {
    step[count++] = (plag_test_step){at_s, plag_test_random_uniform(random, 0.0, 100.0)};
    at_s += plag_test_random_uniform(random, 0.9, 7.3);
  }
  return count;
}

static platelag_trace *make_trace(double rows_per_second, uint64_t seed, double duration_s) {
  static plag_test_step step[MOST_STEPS];
  plag_test_random random = {seed};
  const size_t count = make_steps(&random, duration_s, step);
  const plag_test_plant plant = {
      .dead_time_s = 0.057,
      .tau_open_s = 0.143,
      .tau_close_s = 0.118,
      .duration_s = duration_s,
      .rows_per_second = rows_per_second,
      .jitter_share = 0.04,
      .noise_pct = 0.31,
      .quantum = 0.0049,
      .seed = seed,
  };
  return plag_test_trace_simulate(&plant, step, count);
}

/* Puts `spells` of the defect into the trace, each `length` samples; truth[i] says where. */
static void put(platelag_trace *trace, defect kind, size_t spells, size_t length,
                plag_test_random *random, unsigned char *truth) {
  double *level = (double *)trace->level; /* a made trace owns its arrays */
  for (size_t k = 0; k < spells; k++) {
    const size_t first = (k + 1) * trace->sample_count / (spells + 1);
    const double start = level[first];
    for (size_t i = first; i < first + length && i < trace->sample_count; i++) {
      truth[i] = 1;
      switch (kind) {
      case DROPS:
        level[i] = 0.0734;
        break;
      case SPIKES: /* to where no command asks */
        level[i] = start < 2.475 ? 4.21 : 0.61;
        break;
      case HIGH:
        level[i] = 4.843 + 0.004 * plag_test_random_normal(random);
        break;
      case LOW:
        level[i] = 0.121;
        break;
      case FROZEN:
        level[i] = start;
        break;
      case BURST:
        level[i] += 0.9 * plag_test_random_normal(random);
        break;
      case NONE:
        break;
      }
    }
  }
}

struct row {
  const char *what;
  defect kind;
  platelag_mode mode; /* that most of the readings must get */
  double rows_per_second;
  size_t spells, length;
  double least_found; /* share of the truth */
};

static void defects_are_found(void **state) {
  (void)state;
  static const struct row rows[] = {
      {"single drops at 10/s", DROPS, PLATELAG_MODE_RAIL_LOW, 10.0, 17, 1, 0.99},
      {"drops of half a second at 20/s", DROPS, PLATELAG_MODE_RAIL_LOW, 20.0, 9, 10, 0.99},
      {"drops at 2/s", DROPS, PLATELAG_MODE_RAIL_LOW, 2.0, 9, 1, 0.85},
      {"spikes inside the span at 10/s", SPIKES, PLATELAG_MODE_ERRATIC, 10.0, 13, 2, 0.9},
      {"at the high rail for 9 s", HIGH, PLATELAG_MODE_RAIL_HIGH, 10.0, 2, 90, 0.99},
      {"at the low rail for 6 s", LOW, PLATELAG_MODE_RAIL_LOW, 5.0, 2, 30, 0.99},
      {"frozen for 20 s", FROZEN, PLATELAG_MODE_FROZEN, 10.0, 2, 200, 0.95},
      {"bursts of noise", BURST, PLATELAG_MODE_ERRATIC, 20.0, 5, 40, 0.6},
  };
  static unsigned char truth[16384];
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    plag_test_random random = {SEED + k};
    platelag_trace *trace = make_trace(rows[k].rows_per_second, SEED + k, DURATION_S);
    for (size_t i = 0; i < trace->sample_count; i++)
      truth[i] = 0;
    put(trace, rows[k].kind, rows[k].spells, rows[k].length, &random, truth);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    platelag_error error = {0};
    assert_int_equal(plag_modes_find_void(&made.model, &error), PLATELAG_OK);
    size_t right = 0, wrong = 0, put_in = 0;
    for (size_t i = 0; i < trace->sample_count; i++) {
      put_in += truth[i];
      right += truth[i] && made.model.mode[i] == rows[k].mode;
      wrong += !truth[i] && platelag_mode_is_void((platelag_mode)made.model.mode[i]);
    }
    if ((double)right < rows[k].least_found * (double)put_in || wrong > 2 * rows[k].spells)
      fail_msg("%s (seed %d): %zu of %zu found, %zu false", rows[k].what, (int)(SEED + k), right,
               put_in, wrong);
    assert_true(made.fit.signal.void_count >= rows[k].spells / 2);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* At most one false void span in ten hours of free driving. */
static void free_driving_has_no_void_readings(void **state) {
  (void)state;
  static const double rates[] = {2.0, 5.0, 10.0, 20.0};
  size_t spans = 0;
  for (size_t r = 0; r < sizeof rates / sizeof rates[0]; r++) {
    for (uint64_t seed = 1; seed <= 6; seed++) { /* 24 x 25 min = 10 h */
      platelag_trace *trace = make_trace(rates[r], SEED + seed, 1500.0);
      plag_test_model made;
      plag_test_model_begin(&made, trace);
      platelag_error error = {0};
      assert_int_equal(plag_modes_find_void(&made.model, &error), PLATELAG_OK);
      if (made.fit.signal.void_count > 0)
        print_message("%g rows/s, seed %d: %zu void spans\n", rates[r], (int)(SEED + seed),
                      made.fit.signal.void_count);
      spans += made.fit.signal.void_count;
      assert_between(made.model.noise_pct, 0.26, 0.42);
      plag_test_model_end(&made);
      plag_test_trace_destroy(trace);
    }
  }
  assert_true(spans <= 1);
}

/* A signal that is high all along still has its figures. */
static void all_high_is_measured(void **state) {
  (void)state;
  static unsigned char truth[16384];
  plag_test_random random = {SEED};
  platelag_trace *trace = make_trace(10.0, SEED, DURATION_S);
  put(trace, HIGH, 1, 1, &random, truth);
  for (size_t i = 0; i < trace->sample_count; i++)
    ((double *)trace->level)[i] = 4.617 + 0.0113 * plag_test_random_normal(&random);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  platelag_error error = {0};
  assert_int_equal(plag_modes_find_void(&made.model, &error), PLATELAG_OK);
  const platelag_signal *signal = &made.fit.signal;
  assert_close(signal->high_share, 1.0, 0, 1e-9);
  assert_close(signal->high_level_pct, 100.0 * 4.617 / 5.0, 0, 0.03);
  assert_close(signal->high_noise_pct, 100.0 * 0.0113 / 5.0, 0.1, 0);
  assert_between(platelag_seconds(signal->first_high_ns), 0.3, 0.9);
  assert_int_equal(made.model.valid_count, 0);
  assert_int_equal(signal->low_share > 0.0, 0);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(defects_are_found),
      cmocka_unit_test(free_driving_has_no_void_readings),
      cmocka_unit_test(all_high_is_measured),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
