/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/rank_test.h"

#include <assert.h>

#include "fleet/trend_points.h"

enum { MOST_EXACT = 8 }; /* 40320 arrangements: about a millisecond */

/* Sums over ordered pairs of the two tables of scores, that of the times and that of the values. */
struct sums {
  size_t count;
  double both;                  /* products of the two */
  double time_rows, value_rows; /* squares of the sums of rows */
  double time_squares, value_squares;
  double differing; /* pairs whose values differ */
};

static double time_score(const plag_trend_point *a, const plag_trend_point *b) {
  return plag_sign(b->at_days - a->at_days);
}

static double value_score(const plag_trend_point *a, const plag_trend_point *b) {
  const double variance = plag_trend_variance(a) + plag_trend_variance(b);
  const double difference = b->value - a->value;
  return variance > 0.0 ? erf(difference / sqrt(2.0 * variance)) : plag_sign(difference);
}

static void add_row(struct sums *sums, const plag_trend_point *point, size_t count, size_t row) {
  double time_row = 0.0;
  double value_row = 0.0;
  for (size_t j = 0; j < count; j++) {
    if (!plag_trend_usable(&point[j]))
      continue;
    const double a = time_score(&point[row], &point[j]);
    const double b = value_score(&point[row], &point[j]);
    time_row += a;
    value_row += b;
    sums->both += a * b;
    sums->time_squares += a * a;
    sums->value_squares += b * b;
    sums->differing += b != 0.0;
  }
  sums->time_rows += time_row * time_row;
  sums->value_rows += value_row * value_row;
  sums->count++;
}

static struct sums sums_of(const plag_trend_point *point, size_t count) {
  struct sums sums = {0};
  for (size_t i = 0; i < count; i++)
    if (plag_trend_usable(&point[i]))
      add_row(&sums, point, count, i);
  return sums;
}

/* Daniels' closed form for two skew-symmetric tables, over all arrangements of one of them; a
 * quarter of it, since each pair stands twice in `both`. */
static double variance_of(const struct sums *sums) {
  const double n = (double)sums->count;
  const double shared =
      (sums->time_rows - sums->time_squares) * (sums->value_rows - sums->value_squares);
  const double same = sums->time_squares * sums->value_squares;
  return shared / (n * (n - 1.0) * (n - 2.0)) + same / (2.0 * n * (n - 1.0));
}

/* How often `score` or more comes by chance. Scores of exact values go in steps of 2: half a step
 * is the correction for continuity (Kendall). The softer the scores, the finer the steps. */
static double normal_upper(double score, double variance, const struct sums *sums) {
  if (variance <= 0.0)
    return 1.0;
  const double half_step = sums->value_squares / sums->differing;
  return 0.5 * erfc((score - half_step) / sqrt(2.0 * variance));
}

static double p_by_normal(double score, double variance, const struct sums *sums,
                          plag_trend_side worse) {
  if (worse == PLAG_TREND_BOTH)
    return fmin(1.0, 2.0 * normal_upper(fabs(score), variance, sums));
  return normal_upper(worse == PLAG_TREND_UP ? score : -score, variance, sums);
}

/* The walk through all arrangements: places are filled in turn with what is left. */
struct arrangements {
  size_t count;
  double time[MOST_EXACT][MOST_EXACT], value[MOST_EXACT][MOST_EXACT];
  plag_trend_side worse;
  double
      reached; /* the series' own score in the direction that is worse, less what rounding takes */
  size_t order[MOST_EXACT]; /* which value stands in which place */
  size_t all, as_far;
};

static void tell_scores(struct arrangements *walk, const plag_trend_point *point, size_t count) {
  const plag_trend_point *used[MOST_EXACT];
  for (size_t i = 0; i < count; i++)
    if (plag_trend_usable(&point[i]))
      used[walk->count++] = &point[i];
  for (size_t i = 0; i < walk->count; i++) {
    walk->order[i] = i;
    for (size_t j = 0; j < walk->count; j++) {
      walk->time[i][j] = time_score(used[i], used[j]);
      walk->value[i][j] = value_score(used[i], used[j]);
    }
  }
}

static double in_worse_direction(double score, plag_trend_side worse) {
  if (worse == PLAG_TREND_BOTH)
    return fabs(score);
  return worse == PLAG_TREND_UP ? score : -score;
}

static void swap(size_t *a, size_t *b) {
  const size_t kept = *a;
  *a = *b;
  *b = kept;
}

static double score_of_place(const struct arrangements *walk, size_t place) {
  double score = 0.0;
  for (size_t i = 0; i < place; i++)
    score += walk->time[i][place] * walk->value[walk->order[i]][walk->order[place]];
  return score;
}

static void fill_from(struct arrangements *walk, size_t place, double score) {
  if (place == walk->count) {
    walk->all++;
    walk->as_far += in_worse_direction(score, walk->worse) >= walk->reached;
    return;
  }
  for (size_t i = place; i < walk->count; i++) {
    swap(&walk->order[place], &walk->order[i]);
    fill_from(walk, place + 1, score + score_of_place(walk, place));
    swap(&walk->order[place], &walk->order[i]);
  }
}

static double p_by_arrangements(const plag_trend_point *point, size_t count, double score,
                                plag_trend_side worse) {
  struct arrangements walk = {.worse = worse, .reached = in_worse_direction(score, worse) - 1e-9};
  tell_scores(&walk, point, count);
  fill_from(&walk, 0, 0.0);
  return (double)walk.as_far / (double)walk.all;
}

plag_rank_test plag_rank_test_of(const plag_trend_point *point, size_t count,
                                 plag_trend_side worse) {
  const struct sums sums = sums_of(point, count);
  assert(sums.count >= 3);
  plag_rank_test test = {.score = 0.5 * sums.both, .variance = variance_of(&sums)};
  if (sums.time_squares > 0.0 && sums.value_squares > 0.0)
    test.tau = sums.both / sqrt(sums.time_squares * sums.value_squares);
  test.p = sums.count <= MOST_EXACT ? p_by_arrangements(point, count, test.score, worse)
                                    : p_by_normal(test.score, test.variance, &sums, worse);
  return test;
}
