/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The likelihood of a dead time, marginalised over the bracket of the command change, is what the
 * same integral is when it is summed up over thousands of onsets. */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>

#include "model/onset.h"
#include "support/made_random.h"

#define SHAPES (sizeof shapes / sizeof *shapes)
#define TURNS  3
#define DELAYS 14
#define CELLS  4000.0   /* of a tau, to sum over; */
#define MOST   200000.0 /* of a bracket */
#define DEEP   30.0     /* natural log below the best onset: farther down nothing is told from */
#define CLOSE  0.01     /* natural log */

struct made {
  plag_window window;
  double time_s[PLAG_WINDOW_POINTS], travel_pct[PLAG_WINDOW_POINTS];
  plag_windows windows;
};

struct shape {
  double tau_s, width_s, period_s, noise_pct, move_pct;
};

/* From what steps are made of, to noise that drowns them, taus far below and brackets far above the
 * spacing of readings. */
static const struct shape shapes[] = {
    {0.137, 0.101, 0.099, 0.31, 63.7},  {0.031, 0.097, 0.101, 0.17, -71.3},
    {0.413, 0.053, 0.049, 0.87, 41.9},  {1.213, 0.487, 0.503, 0.43, -67.1},
    {0.057, 0.513, 0.497, 1.13, 77.3},  {0.211, 2.017, 0.103, 0.61, 58.9},
    {0.0113, 0.103, 0.051, 0.29, 83.1}, {0.673, 0.107, 0.097, 5.31, 23.7},
    {0.317, 0.019, 0.203, 0.23, -33.3}, {0.011, 9.13, 0.499, 0.41, 61.7},
};

/* A first-order answer to a change at 0 less a part of its bracket, read until it has settled. */
static void make(const struct shape *shape, double delay_s, plag_test_random *random,
                 struct made *out) {
  plag_window *w = &out->window;
  *w = (plag_window){.width_s = shape->width_s, .opening = shape->move_pct > 0.0};
  w->before.pct = shape->move_pct > 0.0 ? 11.3 : 88.1;
  w->after.pct = w->before.pct + shape->move_pct;
  const double onset_s = delay_s - shape->width_s * plag_test_random_uniform(random, 0.0, 1.0);
  double at_s = -shape->width_s - 2.3 * shape->period_s;
  while (w->count < PLAG_WINDOW_POINTS && at_s < delay_s + 7.0 * shape->tau_s + shape->period_s) {
    const double since_s = at_s - onset_s;
    out->time_s[w->count] = at_s;
    out->travel_pct[w->count++] =
        w->before.pct + (since_s > 0.0 ? -shape->move_pct * expm1(-since_s / shape->tau_s) : 0.0) +
        shape->noise_pct * plag_test_random_normal(random);
    at_s += shape->period_s * plag_test_random_uniform(random, 0.93, 1.07);
  }
  out->windows = (plag_windows){.count = 1,
                                .window = &out->window,
                                .time_s = out->time_s,
                                .travel_pct = out->travel_pct,
                                .noise_pct = shape->noise_pct};
}

static double squares_at(const struct made *made, double tau_s, double onset_s) {
  const plag_window *w = &made->window;
  double sum = 0.0;
  for (size_t i = 0; i < w->count; i++) {
    const double since_s = made->time_s[i] - onset_s;
    const double pct = since_s < 0.0
                           ? w->before.pct
                           : w->after.pct + (w->before.pct - w->after.pct) * exp(-since_s / tau_s);
    sum += (made->travel_pct[i] - pct) * (made->travel_pct[i] - pct);
  }
  return sum;
}

/* Onsets to sum over: cells of one width from where the first bracket begins to where the last
 * ends, so that each bracket is a whole number of them. */
typedef struct grid {
  size_t bracket, step; /* cells of a bracket, and from one dead time to the next */
  double cell_s;
  double *cost; /* in the middle of each */
  double best;
} grid;

static grid look_at_all(const struct made *made, double tau_s, const plag_delays *delays,
                        double variance) {
  grid g = {.bracket = (size_t)fmin(ceil(CELLS * made->window.width_s / tau_s), MOST),
            .best = INFINITY};
  g.cell_s = made->window.width_s / (double)g.bracket;
  g.step = (size_t)round(delays->step_s / g.cell_s);
  const size_t count = g.bracket + (DELAYS - 1) * g.step;
  g.cost = calloc(count, sizeof *g.cost);
  assert_non_null(g.cost);
  for (size_t i = 0; i < count; i++) {
    const double onset_s = delays->first_s - made->window.width_s + ((double)i + 0.5) * g.cell_s;
    g.cost[i] = squares_at(made, tau_s, onset_s) / (2.0 * variance);
    g.best = fmin(g.best, g.cost[i]);
  }
  return g;
}

/* Minus the logarithm of the likelihood's mean over a bracket, the plain way. */
static double misfit_of(const grid *g, size_t delay) {
  const double *cost = g->cost + delay * g->step;
  double best = INFINITY;
  for (size_t i = 0; i < g->bracket; i++)
    best = fmin(best, cost[i]);
  double sum = 0.0;
  for (size_t i = 0; i < g->bracket; i++)
    sum += exp(best - cost[i]);
  return best - log(sum / (double)g->bracket);
}

/* How a misfit counts that is beyond chance. */
static double softened(double misfit, size_t readings) {
  const double room = 0.5 * (double)readings + 15.0 + sqrt(2.0 * (double)readings);
  return misfit <= room ? misfit : room + room * log(misfit / room);
}

static void compare(const struct made *made, const grid *g, const double *got) {
  for (size_t i = 0; i < DELAYS; i++) {
    const double misfit = misfit_of(g, i);
    if (misfit < g->best + DEEP)
      assert_close(got[i], -softened(misfit, made->window.count), 0.0, CLOSE);
    else
      assert_true(got[i] < -softened(g->best + 0.9 * DEEP, made->window.count));
  }
}

static void marginals_are_the_integral(void **state) {
  (void)state;
  plag_test_random random = {0x0541};
  for (size_t k = 0; k < SHAPES; k++)
    for (int turn = 0; turn < TURNS; turn++) {
      struct made made;
      const double delay_s = plag_test_random_uniform(&random, 0.02, 0.4);
      make(&shapes[k], delay_s, &random, &made);
      const double tau_s = shapes[k].tau_s * plag_test_random_uniform(&random, 0.8, 1.25);
      const double reach_s = turn % 2 ? 0.6 : 0.1 * fmin(shapes[k].period_s, tau_s);
      plag_delays delays = {fmax(delay_s - 0.5 * reach_s, 0.0), reach_s / DELAYS, DELAYS};
      const double variance = shapes[k].noise_pct * shapes[k].noise_pct;
      grid g = look_at_all(&made, tau_s, &delays, variance);
      delays.step_s = g.cell_s * (double)g.step;
      double got[PLAG_ONSET_DELAYS] = {0.0};
      plag_onset_sums sums;
      plag_onset_sum_up(&made.windows, 0, &sums);
      plag_onset_add(&made.windows, 0, &sums, tau_s, &delays, &(plag_onset_view){variance, false},
                     got);
      compare(&made, &g, got);
      free(g.cost);
    }
}

/* A change that happened on the row has no bracket: its likelihood is that of one onset. */
static void changes_on_rows_have_one_onset(void **state) {
  (void)state;
  plag_test_random random = {0x0677};
  for (size_t k = 0; k < SHAPES; k++) {
    struct made made;
    make(&shapes[k], 0.173, &random, &made);
    const double variance = shapes[k].noise_pct * shapes[k].noise_pct;
    const plag_delays delays = {0.011, 0.0171, DELAYS};
    double got[PLAG_ONSET_DELAYS] = {0.0};
    plag_onset_sums sums;
    plag_onset_sum_up(&made.windows, 0, &sums);
    plag_onset_add(&made.windows, 0, &sums, shapes[k].tau_s, &delays,
                   &(plag_onset_view){variance, true}, got);
    for (size_t i = 0; i < DELAYS; i++) {
      const double squares = squares_at(&made, shapes[k].tau_s, plag_delay_at(&delays, i));
      assert_close(got[i], -softened(squares / (2.0 * variance), made.window.count), 1e-9, 1e-9);
    }
  }
}

/* What windows say adds up. */
static void windows_add_up(void **state) {
  (void)state;
  plag_test_random random = {0x0719};
  struct made made;
  make(&shapes[0], 0.131, &random, &made);
  const plag_delays delays = {0.09, 0.0043, DELAYS};
  const plag_onset_view view = {0.31 * 0.31, false};
  double once[PLAG_ONSET_DELAYS] = {0.0};
  double twice[PLAG_ONSET_DELAYS] = {0.0};
  plag_onset_sums sums;
  plag_onset_sum_up(&made.windows, 0, &sums);
  plag_onset_add(&made.windows, 0, &sums, 0.137, &delays, &view, once);
  for (int i = 0; i < 2; i++)
    plag_onset_add(&made.windows, 0, &sums, 0.137, &delays, &view, twice);
  for (size_t i = 0; i < DELAYS; i++)
    assert_close(twice[i], 2.0 * once[i], 1e-12, 0.0);
}

/* Residuals are those of the best of onsets in the bracket. */
static void residuals_are_about_the_best_onset(void **state) {
  (void)state;
  plag_test_random random = {0x0731};
  for (size_t k = 0; k < SHAPES; k++) {
    struct made made;
    make(&shapes[k], 0.217, &random, &made);
    double residual[PLAG_WINDOW_POINTS];
    double onset_s = NAN;
    const size_t count =
        plag_onset_residuals(&made.windows, 0, shapes[k].tau_s, 0.217, false, residual, &onset_s);
    assert_int_equal(count, made.window.count);
    assert_between(onset_s, 0.217 - shapes[k].width_s, 0.217);
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
      sum += residual[i] * residual[i];
    assert_close(sum, squares_at(&made, shapes[k].tau_s, onset_s), 1e-9, 0.0);
    for (int i = 0; i <= 24; i++)
      assert_true(squares_at(&made, shapes[k].tau_s, 0.217 - shapes[k].width_s * i / 24.0) >=
                  sum * (1.0 - 1e-9));
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(marginals_are_the_integral),
      cmocka_unit_test(changes_on_rows_have_one_onset),
      cmocka_unit_test(windows_add_up),
      cmocka_unit_test(residuals_are_about_the_best_onset),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
