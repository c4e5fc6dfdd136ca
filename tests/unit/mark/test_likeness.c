/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Copies are alike, honest recordings are not, even of one vehicle on one course with other noise.
 *
 * Of independent noise the correlation over n readings has a standard deviation of 1.39 / sqrt(n)
 * (Bartlett 1946, for a reading less the middle of its neighbours). Over m offsets and pairs the
 * largest of them stays below sqrt(2 ln(2 m)) of it (Leadbetter, Lindgren, Rootzen, Extremes and
 * Related Properties of Random Sequences and Processes, 1983, ch. 1, from memory): 5.9 for the
 * 3,300 pairs of some 5,000 offsets here, 8.2 / sqrt(n), where 9 / sqrt(n) is asked. What could be
 * alike all the same is what a coarse converter, or a recorder that repeats readings, makes of the
 * moves that all recordings share. */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "mark/likeness.h"
#include "support/made_random.h"

#define NOISE_V 0.004

enum { MOST = 3600, RECORDINGS = 11, COURSES = 2 };

/* A drive that several recordings share: steps, holds and slow ramps, a drift with the warmth. */
static size_t make_course(plag_test_random *random, double *out) {
  const size_t count = (size_t)plag_test_random_uniform(random, 1500, MOST);
  const double lag = plag_test_random_uniform(random, 1, 7); /* readings */
  double asked = 0;
  double ramp = 0;
  double place = 0;
  size_t next = 0;
  for (size_t i = 0; i < count; i++) {
    if (i >= next) {
      next = i + (size_t)plag_test_random_uniform(random, 15, 75);
      ramp = plag_test_random_uniform(random, 0, 1) < 0.3
                 ? plag_test_random_uniform(random, -0.01, 0.01)
                 : 0;
      asked = ramp != 0 ? asked : plag_test_random_uniform(random, 0, 1);
    }
    asked = fmin(fmax(asked + ramp, 0), 1);
    place += (asked - place) / lag;
    out[i] = 1 + 3 * place + 0.00002 * (double)i;
  }
  return count;
}

/* How a recording is made of a drive. */
typedef struct recorder {
  double step_v;  /* of the converter */
  double refresh; /* readings until a fresh one */
  double top_v;   /* where the signal is pinned; 0: nowhere */
} recorder;

static void record(const recorder *by, plag_test_random *random, const double *course, size_t count,
                   double *out) {
  double held = 0;
  for (size_t i = 0; i < count; i++) {
    if (i == 0 || floor((double)i / by->refresh) != floor((double)(i - 1) / by->refresh))
      held =
          by->step_v * round((course[i] + NOISE_V * plag_test_random_normal(random)) / by->step_v);
    out[i] = by->top_v > 0 ? fmin(held, by->top_v) : held;
  }
}

static size_t count_likenesses(const plag_noise *noise, double (*value)[MOST],
                               plag_noise_plan *plan, double *largest) {
  size_t count = 0;
  for (size_t i = 0; i < RECORDINGS; i++)
    for (size_t k = i + 1; k < RECORDINGS; k++) {
      const plag_match match = plag_noise_match(&noise[i], value[i], &noise[k], value[k], plan);
      if (match.samples >= PLAG_LIVELY_LEAST)
        *largest = fmax(*largest, fabs(match.correlation) * sqrt((double)match.samples));
      count += plag_match_is_likeness(&match);
    }
  return count;
}

static double value[RECORDINGS + 1][MOST];

/* Likenesses among recordings of one course; their noise is looked at with no regard to whether it
 * is enough. */
static size_t try_course(const recorder *by, plag_test_random *random, double *largest) {
  static double course[MOST];
  plag_noise noise[RECORDINGS];
  const size_t count = make_course(random, course);
  plag_noise_plan *plan = plag_noise_plan_create(count);
  assert_non_null(plan);
  for (size_t i = 0; i < RECORDINGS; i++) {
    record(by, random, course, count, value[i]);
    assert_true(plag_noise_take(value[i], count, plan, &noise[i]));
  }
  const size_t likenesses = count_likenesses(noise, value, plan, largest);
  for (size_t i = 0; i < RECORDINGS; i++)
    plag_noise_clear(&noise[i]);
  plag_noise_plan_destroy(plan);
  return likenesses;
}

static void honest_recordings_of_one_course_are_not_alike(void **state) {
  (void)state;
  static const double STEPS_V[] = {1e-6, 0.001, 0.004, 0.0195, 0.08, 0.2};
  static const double REFRESH[] = {1, 2, 3, 1.5, 2.5};
  plag_test_random random = {plag_test_seed(60271)};
  double largest = 0;
  size_t pairs = 0;
  for (size_t s = 0; s < sizeof STEPS_V / sizeof *STEPS_V; s++)
    for (size_t r = 0; r < sizeof REFRESH / sizeof *REFRESH; r++)
      for (size_t c = 0; c < COURSES; c++) {
        const recorder by = {STEPS_V[s], REFRESH[r], c == 1 && s % 2 == 1 ? 2.9 : 0};
        const size_t likenesses = try_course(&by, &random, &largest);
        pairs += RECORDINGS * (RECORDINGS - 1) / 2;
        if (likenesses > 0)
          fail_msg("%zu likenesses at a step of %g V, fresh each %g", likenesses, by.step_v,
                   by.refresh);
      }
  assert_true(pairs >= 2000);
  assert_between(largest, 3, 8.2);
}

/* What copyists do. */
typedef struct change {
  const char *what;
  double noise; /* of the recording's own */
  double from, to;
  double scale, add, round_to;
} change;

static const change CHANGES[] = {{"renamed", 0, 0, 1, 1, 0, 0},
                                 {"trimmed", 0, 0.2, 0.9, 1, 0, 0},
                                 {"rescaled", 0, 0, 1, 20, -3.1, 0.01},
                                 {"turned over", 0, 0, 1, -20, 100, 0.01},
                                 {"noise", 1, 0, 1, 1, 0, 0.001},
                                 {"twice the noise", 2, 0, 1, 1, 0, 0.001},
                                 {"trimmed, rescaled", 0, 0.3, 0.9, 33.3, 0, 0.1},
                                 {"trimmed, noise", 1, 0.1, 0.8, 1, 0, 0.001}};

static size_t copy(const change *by, plag_test_random *random, const double *from, size_t count,
                   double *to) {
  const size_t first = (size_t)(by->from * (double)count);
  const size_t end = (size_t)(by->to * (double)count);
  for (size_t i = first; i < end; i++) {
    const double noisy = from[i] + by->noise * NOISE_V * plag_test_random_normal(random);
    const double scaled = by->scale * noisy + by->add;
    to[i - first] = by->round_to > 0 ? by->round_to * round(scaled / by->round_to) : scaled;
  }
  return end - first;
}

static bool is_found(const change *by, plag_test_random *random, const double *original,
                     size_t count, plag_noise_plan *plan) {
  plag_noise one;
  plag_noise other;
  const size_t kept = copy(by, random, original, count, value[RECORDINGS]);
  assert_true(plag_noise_take(original, count, plan, &one));
  assert_true(plag_noise_take(value[RECORDINGS], kept, plan, &other));
  const plag_match match = plag_noise_match(&one, original, &other, value[RECORDINGS], plan);
  const bool found = plag_match_is_likeness(&match);
  if (found) {
    assert_close((double)match.offset, floor(by->from * (double)count), 0, 0);
    assert_close(match.share, 1, 0, 1e-12);
    assert_close(match.scale, by->scale, 0.02, 0);
  }
  plag_noise_clear(&one);
  plag_noise_clear(&other);
  return found;
}

static void copies_are_alike_whatever_was_changed(void **state) {
  (void)state;
  static double course[MOST];
  static const recorder BY = {0.001, 1, 0};
  enum { TRIED = 25 };
  plag_test_random random = {plag_test_seed(60917)};
  for (size_t c = 0; c < sizeof CHANGES / sizeof *CHANGES; c++) {
    size_t found = 0;
    for (size_t i = 0; i < TRIED; i++) {
      const size_t count = make_course(&random, course);
      plag_noise_plan *plan = plag_noise_plan_create(count);
      assert_non_null(plan);
      record(&BY, &random, course, count, value[0]);
      found += is_found(&CHANGES[c], &random, value[0], count, plan);
      plag_noise_plan_destroy(plan);
    }
    if (found + (CHANGES[c].noise > 1 ? 2 : 0) < TRIED)
      fail_msg("%s: %zu of %d found", CHANGES[c].what, found, TRIED);
  }
}

/* Recordings that hold nothing to compare: too short, pinned, missing, standing still. */
static void nothing_to_compare_is_no_likeness(void **state) {
  (void)state;
  for (size_t kind = 0; kind < 5; kind++)
    for (size_t count = 0; count < 1200; count = count < 5 ? count + 1 : count * 2) {
      plag_noise noise;
      plag_noise_plan *plan = plag_noise_plan_create(count);
      assert_non_null(plan);
      for (size_t i = 0; i < count; i++)
        value[0][i] = kind == 0   ? 4.97
                      : kind == 1 ? NAN
                      : kind == 2 ? (double)i
                      : kind == 3 ? (i % 2 == 0 ? NAN : 3.0)
                                  : (double)(i / 100);
      assert_true(plag_noise_take(value[0], count, plan, &noise));
      const plag_match match = plag_noise_match(&noise, value[0], &noise, value[0], plan);
      assert_false(plag_match_is_likeness(&match));
      plag_noise_clear(&noise);
      plag_noise_plan_destroy(plan);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(honest_recordings_of_one_course_are_not_alike),
      cmocka_unit_test(copies_are_alike_whatever_was_changed),
      cmocka_unit_test(nothing_to_compare_is_no_likeness)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
