/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Thinned lines look like all their points: every column keeps its extremes, gaps stay gaps, a
 * stroke of a track is drawn once, and no line grows with its points without end. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/svg_path.h"

enum { POINTS = 100000, COLUMNS = PLAG_SVG_COLUMNS };

static const plag_axis across = {.from = 0, .to = POINTS};
static const plag_axis up = {.from = -2, .to = 2};

static void draw(plag_text *out, plag_stroke stroke, const double *x, const double *y,
                 size_t count) {
  const plag_plot_line line = {.stroke = stroke, .count = count, .x = x, .y = y};
  plag_text_reset(out);
  plag_text_add(out, "");
  plag_svg_path_add(out, &line, &across, &up);
  assert_false(out->failed);
}

/* The path's points in box units; returns how many begin a new stroke. */
typedef struct seen {
  long lowest[COLUMNS + 1], highest[COLUMNS + 1];
  size_t begun, points;
} seen;

static void follow(const char *path, seen *out) {
  long x = 0, y = 0;
  for (int i = 0; i <= COLUMNS; i++) {
    out->lowest[i] = -1;
    out->highest[i] = PLAG_SVG_HEIGHT + 1;
  }
  out->begun = out->points = 0;
  while (*path != '\0') {
    const char verb = *path++;
    char *rest = NULL;
    const long first = strtol(path, &rest, 10);
    const long second = strchr("Mml", verb) != NULL ? strtol(rest, &rest, 10) : 0;
    path = rest;
    out->begun += verb == 'M' || verb == 'm';
    x = verb == 'M' ? first : verb == 'v' ? x : x + first;
    y = verb == 'M' ? second : verb == 'v' ? y + first : y + second;
    out->points++;
    const long column = x * COLUMNS / PLAG_SVG_WIDTH;
    out->lowest[column] = y > out->lowest[column] ? y : out->lowest[column];
    out->highest[column] = y < out->highest[column] ? y : out->highest[column];
  }
}

static double *x, *y;

static int make_points(void **state) {
  (void)state;
  x = malloc(POINTS * sizeof *x);
  y = malloc(POINTS * sizeof *y);
  for (size_t i = 0; i < POINTS; i++) {
    x[i] = (double)i;
    y[i] = sin((double)i * 0.0017) + 0.385 * sin((double)i * 0.731);
  }
  return x == NULL || y == NULL;
}

static int drop_points(void **state) {
  (void)state;
  free(x);
  free(y);
  return 0;
}

static void every_column_keeps_its_extremes(void **state) {
  (void)state;
  plag_text out = {0};
  static seen drawn;
  draw(&out, PLAG_STROKE_LINE, x, y, POINTS);
  follow(out.bytes, &drawn);
  assert_int_equal(drawn.begun, 1);
  assert_true(drawn.points <= 4 * COLUMNS + 4);
  for (size_t i = 0; i < POINTS; i++) {
    const long at = lround(PLAG_SVG_WIDTH * x[i] / POINTS) * COLUMNS / PLAG_SVG_WIDTH;
    const long down = lround(PLAG_SVG_HEIGHT * (1 - (y[i] + 2) / 4));
    assert_true(down <= drawn.lowest[at] && down >= drawn.highest[at]);
  }
  plag_text_clear(&out);
}

static void gaps_stay_gaps_and_steps_hold(void **state) {
  (void)state;
  const double at[] = {0, 25000, 50000, 50000, 75000}, value[] = {0, 1, 1, NAN, -1};
  plag_text out = {0};
  draw(&out, PLAG_STROKE_STEPS, at, value, 5);
  assert_string_equal(out.bytes, "M0 500h1000v-250h1000m1000 500");
  draw(&out, PLAG_STROKE_LINE, at, value, 3);
  assert_string_equal(out.bytes, "M0 500l1000-250h1000");
  draw(&out, PLAG_STROKE_LINE, at, value, 0);
  assert_string_equal(out.bytes, "");
  plag_text_clear(&out);
}

/* A hundred rounds of one loop are drawn as one. */
static void a_track_draws_each_stroke_once(void **state) {
  (void)state;
  enum { ROUND = 60, ROUNDS = 100 };
  double *across_loop = malloc(ROUND * ROUNDS * sizeof *across_loop);
  double *up_loop = malloc(ROUND * ROUNDS * sizeof *up_loop);
  assert_true(across_loop != NULL && up_loop != NULL);
  for (size_t i = 0; i < ROUND * ROUNDS; i++) {
    const double turn = 2 * 3.14159265358979 * (double)(i % ROUND) / ROUND;
    across_loop[i] = POINTS * (0.5 + 0.385 * cos(turn));
    up_loop[i] = 1.71 * sin(turn);
  }
  plag_text once = {0}, often = {0};
  draw(&once, PLAG_STROKE_TRACK, across_loop, up_loop, ROUND + 1);
  draw(&often, PLAG_STROKE_TRACK, across_loop, up_loop, ROUND * ROUNDS);
  assert_string_equal(once.bytes, often.bytes);
  free(across_loop);
  free(up_loop);
  plag_text_clear(&once);
  plag_text_clear(&often);
}

static void even_noise_stays_small(void **state) {
  (void)state;
  plag_text out = {0};
  double *noise = malloc(POINTS * sizeof *noise), *walk = malloc(POINTS * sizeof *walk);
  assert_true(noise != NULL && walk != NULL);
  unsigned seed = 2385;
  for (size_t i = 0; i < POINTS; i++) {
    seed = seed * 1664525U + 1013904223U;
    noise[i] = (double)(seed >> 8) / (1 << 22) - 2;
    seed = seed * 1664525U + 1013904223U;
    walk[i] = (double)(seed >> 8) / (1 << 24) * POINTS;
  }
  draw(&out, PLAG_STROKE_LINE, x, noise, POINTS);
  assert_true(out.length < 60000);
  draw(&out, PLAG_STROKE_TRACK, walk, noise, POINTS);
  assert_true(out.length < 250000);
  free(noise);
  free(walk);
  plag_text_clear(&out);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_column_keeps_its_extremes),
      cmocka_unit_test(gaps_stay_gaps_and_steps_hold),
      cmocka_unit_test(a_track_draws_each_stroke_once),
      cmocka_unit_test(even_noise_stays_small),
  };
  return cmocka_run_group_tests(tests, make_points, drop_points);
}
