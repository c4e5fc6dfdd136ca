/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The simulation over stretches is first order behind a dead time: held against a course stepped by
 * hand, its derivatives against differences, and, where the moment of a change is known to a
 * bracket only, its mean and variance against the courses of many moments in it. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "model/walk.h"
#include "support/made_random.h"

enum { READINGS = 140, EVENTS = 9, KNOTS = 3, SKIPPED = 57, MOMENTS = 400 };

/* Prime to MOMENTS: all moments, in another order for each change. */
static const size_t STRIDE[EVENTS] = {7, 9, 11, 13, 17, 19, 21, 23, 27};
static const double KNOT_PCT[KNOTS] = {11.3, 47.9, 88.2};

typedef struct scene {
  plag_stretch stretch[2];
  double time_s[2 * READINGS], travel_pct[2 * READINGS];
  bool usable[2 * READINGS];
  plag_stretch_event event[2 * EVENTS];
  plag_stretches stretches;
} scene;

static double asked_pct(const plag_knot_place *place) {
  return KNOT_PCT[place->below] + place->share * (KNOT_PCT[place->above] - KNOT_PCT[place->below]);
}

/* Two stretches of irregular readings; the second's changes are others. The changes stand `width_s`
 * wide and far enough from each other that one is over before the next. */
static void set_up(scene *of, double width_s) {
  plag_test_random random = {90481};
  memset(of, 0, sizeof *of);
  for (size_t s = 0; s < 2; s++) {
    double now_s = 0;
    for (size_t i = 0; i < READINGS; i++) {
      of->time_s[s * READINGS + i] = now_s;
      of->usable[s * READINGS + i] = i != SKIPPED;
      now_s += plag_test_random_uniform(&random, 0.03, 0.15);
    }
    of->stretch[s] = (plag_stretch){.first = s * READINGS,
                                    .count = READINGS,
                                    .first_event = s * EVENTS,
                                    .event_count = EVENTS,
                                    .place = {0, 1, 0.2}};
    for (size_t k = 0; k < EVENTS; k++) {
      const unsigned char below = (unsigned char)((k + s) % 2);
      of->event[s * EVENTS + k] = (plag_stretch_event){
          .by_s = 0.4 + 1.1 * (double)k + plag_test_random_uniform(&random, 0.0, 0.3),
          .width_s = width_s,
          .unsure_s = width_s,
          .place = {below, (unsigned char)(below + 1), plag_test_random_uniform(&random, 0, 1)}};
    }
    of->travel_pct[s * READINGS] = 20.7 + 9.0 * (double)s;
  }
  of->stretches = (plag_stretches){.count = 2,
                                   .sample_count = 2 * READINGS,
                                   .event_count = 2 * EVENTS,
                                   .stretch = of->stretch,
                                   .time_s = of->time_s,
                                   .travel_pct = of->travel_pct,
                                   .usable = of->usable,
                                   .event = of->event,
                                   .knots = KNOTS};
}

static plag_walk_model model_of(bool on_rows) {
  plag_walk_model model = {.on_rows = on_rows};
  model.parameter[PLAG_WALK_DEAD_TIME] = 0.137;
  model.parameter[PLAG_WALK_LOG_TAU_CLOSE] = log(0.43);
  model.parameter[PLAG_WALK_LOG_TAU_OPEN] = log(0.29);
  memcpy(&model.parameter[PLAG_WALK_KNOTS], KNOT_PCT, sizeof KNOT_PCT);
  return model;
}

/* One stretch in small steps between its readings and changes, each change so much earlier than its
 * row. Nothing is shared with the model but the numbers. */
static void step_by_hand(const scene *of, size_t s, const double *earlier_s, double *pct) {
  const plag_stretch *stretch = &of->stretch[s];
  double at_s = 0;
  double x = of->travel_pct[stretch->first];
  double target = asked_pct(&stretch->place);
  size_t next = 0;
  pct[0] = x;
  for (size_t i = 1; i < READINGS; i++) {
    const double until_s = of->time_s[stretch->first + i];
    while (at_s < until_s) {
      const plag_stretch_event *event = &of->event[s * EVENTS + next];
      const double felt_s = next < EVENTS ? event->by_s - earlier_s[next] + 0.137 : INFINITY;
      const double to_s = fmin(until_s, felt_s);
      x = target + (x - target) * exp(-(to_s - at_s) / (target > x ? 0.29 : 0.43));
      at_s = to_s;
      if (felt_s <= until_s) {
        target = asked_pct(&event->place);
        next++;
      }
    }
    pct[i] = x;
  }
}

typedef struct seen {
  size_t count;
  double simulated[2 * READINGS], variance[2 * READINGS];
  double derivative[2 * READINGS][PLAG_WALK_PARAMETERS];
  bool visited[2 * READINGS];
} seen;

static bool note(const plag_walk_point *point, void *context) {
  seen *out = context;
  out->count++;
  out->visited[point->sample] = true;
  out->simulated[point->sample] = -point->residual_pct; /* where readings are nought */
  out->variance[point->sample] = point->timing_variance_pct2;
  memcpy(out->derivative[point->sample], point->derivative, sizeof out->derivative[0]);
  return true;
}

static void walk(const scene *of, const plag_walk_model *model, seen *out) {
  memset(out, 0, sizeof *out);
  plag_walk(&of->stretches, model, note, out);
}

static void follows_first_order(void **state) {
  (void)state;
  static scene made;
  static seen got;
  const plag_walk_model model = model_of(true);
  const double none[EVENTS] = {0};
  set_up(&made, 0.1);
  walk(&made, &model, &got);
  assert_int_equal(got.count, 2 * (READINGS - 2));
  for (size_t s = 0; s < 2; s++) {
    double pct[READINGS];
    step_by_hand(&made, s, none, pct);
    assert_false(got.visited[s * READINGS]);
    assert_false(got.visited[s * READINGS + SKIPPED]);
    for (size_t i = 1; i < READINGS; i++)
      if (i != SKIPPED)
        assert_close(got.simulated[s * READINGS + i], pct[i], 0, 1e-9);
  }
}

static void derivatives_are_those_of_the_course(void **state) {
  (void)state;
  static scene made;
  static seen got;
  static seen above;
  static seen below;
  const double step = 1e-6;
  set_up(&made, 0.1);
  for (int on_rows = 0; on_rows < 2; on_rows++) {
    const plag_walk_model model = model_of(on_rows);
    walk(&made, &model, &got);
    for (size_t k = 0; k < PLAG_WALK_KNOTS + KNOTS; k++) {
      plag_walk_model moved = model;
      moved.parameter[k] += step;
      walk(&made, &moved, &above);
      moved.parameter[k] -= 2 * step;
      walk(&made, &moved, &below);
      for (size_t i = 0; i < 2 * READINGS; i++)
        assert_close(got.derivative[i][k], (above.simulated[i] - below.simulated[i]) / (2 * step),
                     1e-4, 1e-3);
    }
  }
}

/* Each change anywhere in its bracket, evenly: behind it the course is the mean of all and scatters
 * as they do, nearly so where plates turn that were still moving. */
static void brackets_give_mean_and_variance(void **state) {
  (void)state;
  static scene made;
  static seen got;
  const double width_s = 0.1;
  const plag_walk_model model = model_of(false);
  set_up(&made, width_s);
  walk(&made, &model, &got);
  double mean[READINGS] = {0};
  double square[READINGS] = {0};
  for (int m = 0; m < MOMENTS; m++) {
    double earlier_s[EVENTS];
    double pct[READINGS];
    for (size_t k = 0; k < EVENTS; k++)
      earlier_s[k] = width_s * ((double)((size_t)m * STRIDE[k] % MOMENTS) + 0.5) / MOMENTS;
    step_by_hand(&made, 0, earlier_s, pct);
    for (size_t i = 0; i < READINGS; i++) {
      mean[i] += pct[i] / MOMENTS;
      square[i] += pct[i] * pct[i] / MOMENTS;
    }
  }
  size_t compared = 0;
  for (size_t i = 1; i < READINGS; i++) {
    bool inside = i == SKIPPED;
    for (size_t k = 0; k < EVENTS; k++) {
      const double since_s = made.time_s[i] - (made.event[k].by_s + 0.137);
      inside = inside || (since_s > -width_s - 0.01 && since_s < 0.01);
    }
    if (inside)
      continue;
    const double variance = square[i] - mean[i] * mean[i];

    assert_close(got.simulated[i], mean[i], 0, 0.1);
    assert_close(got.variance[i], variance, 0.15, 0.005);
    compared++;
  }
  assert_true(compared > READINGS / 2);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(follows_first_order),
      cmocka_unit_test(derivatives_are_those_of_the_course),
      cmocka_unit_test(brackets_give_mean_and_variance),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
