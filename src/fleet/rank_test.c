/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/rank_test.h"

#include <assert.h>

#include "fleet/trend_points.h"

/* 40320 arrangements. What the last few places add depends on which values they share out, not on
 * what stood before: it is listed once for each such set. */
enum { MOST_EXACT = 8, LAST_PLACES = 4, LAST_ORDERS = 24 };

/* Figures that one test can look at together. */
enum { MOST_FIGURES = 4 };

/* The logs whose order is tested, with one figure or several. */
struct logs {
  const plag_trend_point *const *figure;
  size_t figure_count, count;
  double scale[MOST_FIGURES];
};

/* Sums over ordered pairs of the two tables of scores, that of the times and that of the values. */
struct sums {
  size_t count;
  double both;                  /* products of the two */
  double time_rows, value_rows; /* squares of the sums of rows */
  double time_squares, value_squares;
  double differing; /* pairs whose values differ */
};

/* A usable point of a log, which has its time; NULL: the log takes no part. */
static const plag_trend_point *point_of(const struct logs *logs, size_t log) {
  for (size_t k = 0; k < logs->figure_count; k++)
    if (plag_trend_usable(&logs->figure[k][log]))
      return &logs->figure[k][log];
  return NULL;
}

static double time_score(const plag_trend_point *a, const plag_trend_point *b) {
  return plag_sign(b->at_days - a->at_days);
}

static double figure_score(const plag_trend_point *a, const plag_trend_point *b) {
  const double variance = plag_trend_variance(a) + plag_trend_variance(b);
  const double difference = b->value - a->value;
  return variance > 0.0 ? erf(difference / sqrt(2.0 * variance)) : plag_sign(difference);
}

static double value_score(const struct logs *logs, size_t from, size_t to) {
  double score = 0.0;
  for (size_t k = 0; k < logs->figure_count; k++) {
    const plag_trend_point *a = &logs->figure[k][from];
    const plag_trend_point *b = &logs->figure[k][to];
    if (plag_trend_usable(a) && plag_trend_usable(b))
      score += logs->scale[k] * figure_score(a, b);
  }
  return score;
}

/* A figure alone scores as it is; of several each has the same mean square. */
static void scale_figures(struct logs *logs) {
  for (size_t k = 0; k < logs->figure_count; k++) {
    const plag_trend_point *point = logs->figure[k];
    double squares = 0.0;
    size_t pairs = 0;
    for (size_t i = 0; i < logs->count; i++)
      for (size_t j = 0; j < i; j++) {
        if (!plag_trend_usable(&point[i]) || !plag_trend_usable(&point[j]))
          continue;
        const double score = figure_score(&point[i], &point[j]);
        squares += score * score;
        pairs++;
      }
    logs->scale[k] = 1.0;
    if (logs->figure_count > 1 && squares > 0.0)
      logs->scale[k] = sqrt((double)pairs / squares);
  }
}

static void add_row(struct sums *sums, const struct logs *logs, size_t row) {
  const plag_trend_point *here = point_of(logs, row);
  double time_row = 0.0;
  double value_row = 0.0;
  for (size_t j = 0; j < logs->count; j++) {
    const plag_trend_point *there = point_of(logs, j);
    if (there == NULL)
      continue;
    const double a = time_score(here, there);
    const double b = value_score(logs, row, j);
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

static struct sums sums_of(const struct logs *logs) {
  struct sums sums = {0};
  for (size_t i = 0; i < logs->count; i++)
    if (point_of(logs, i) != NULL)
      add_row(&sums, logs, i);
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

/* The walk through all arrangements: places, in order of time, are filled in turn with the values
 * that are left. What a value adds depends on which stand at earlier times, not on their order. */
struct arrangements {
  size_t count;
  double value[MOST_EXACT][MOST_EXACT];
  double added[1 << MOST_EXACT][MOST_EXACT]; /* by a value behind a set of values, a bit each */
  bool new_time[MOST_EXACT];                 /* the place is not of the time of the one before */
  unsigned whole;                            /* all values */
  plag_trend_side worse;
  double reached; /* the series' own score where it is worse, less what rounding takes */
  size_t all, as_far;
  size_t listed_place;            /* from it on sums are listed; `count` where they cannot be */
  size_t listed[1 << MOST_EXACT]; /* how many there are, by the set that is left; 0: not yet */
  double list[1 << MOST_EXACT][LAST_ORDERS]; /* in order of size */
};

/* The usable logs in order of time, MOST_EXACT at most. */
static size_t sort_by_time(const struct logs *logs, size_t *sorted) {
  size_t used = 0;
  for (size_t i = 0; i < logs->count; i++) {
    const plag_trend_point *point = point_of(logs, i);
    if (point == NULL)
      continue;
    size_t place = used++;
    for (; place > 0 && point_of(logs, sorted[place - 1])->at_days > point->at_days; place--)
      sorted[place] = sorted[place - 1];
    sorted[place] = i;
  }
  return used;
}

static void tell_scores(struct arrangements *walk, const struct logs *logs) {
  size_t sorted[MOST_EXACT];
  walk->count = sort_by_time(logs, sorted);
  for (size_t i = 0; i < walk->count; i++) {
    walk->new_time[i] =
        i == 0 || point_of(logs, sorted[i])->at_days != point_of(logs, sorted[i - 1])->at_days;
    for (size_t j = 0; j < walk->count; j++)
      walk->value[i][j] = value_score(logs, sorted[i], sorted[j]);
  }
}

static void sum_over_sets(struct arrangements *walk) {
  for (size_t last = 0; last < walk->count; last++)
    for (size_t set = 0; set < (size_t)1 << last; set++)
      for (size_t item = 0; item < walk->count; item++)
        walk->added[set | (size_t)1 << last][item] =
            walk->added[set][item] + walk->value[last][item];
}

static double where_worse(double score, plag_trend_side worse) {
  if (worse == PLAG_TREND_BOTH)
    return fabs(score);
  return worse == PLAG_TREND_UP ? score : -score;
}

/* Puts `sum` into its place in the list of a set. */
static void enlist(struct arrangements *walk, unsigned set, double sum) {
  double *list = walk->list[set];
  size_t at = walk->listed[set]++;
  for (; at > 0 && list[at - 1] > sum; at--)
    list[at] = list[at - 1];
  list[at] = sum;
}

/* Lists the sums that the values in `left` can add in the places from `place` on. `earlier` stand
 * at earlier times than the place before. */
static void list_from(struct arrangements *walk, unsigned set, size_t place, unsigned left,
                      unsigned earlier, double sum) {
  if (left == 0) {
    enlist(walk, set, sum);
    return;
  }
  if (walk->new_time[place])
    earlier = walk->whole & ~left;
  for (unsigned rest = left; rest != 0; rest &= rest - 1) {
    const unsigned item = (unsigned)__builtin_ctz(rest);
    list_from(walk, set, place + 1, left & ~(1u << item), earlier,
              sum + walk->added[earlier][item]);
  }
}

/* How many sums of a set are at least `limit`. */
static size_t count_from(const struct arrangements *walk, unsigned set, double limit) {
  size_t low = 0;
  size_t high = walk->listed[set];
  while (low < high) {
    const size_t middle = (low + high) / 2;
    if (walk->list[set][middle] >= limit)
      high = middle;
    else
      low = middle + 1;
  }
  return walk->listed[set] - low;
}

/* How many of the ways to go on with the values in `left` reach as far. */
static size_t count_as_far(struct arrangements *walk, unsigned left, double score) {
  if (walk->listed[left] == 0)
    list_from(walk, left, walk->listed_place, left, 0, 0.0);
  const size_t all = walk->listed[left];
  const size_t up = count_from(walk, left, walk->reached - score);
  const size_t down = all - count_from(walk, left, nextafter(-walk->reached - score, INFINITY));
  walk->all += all;
  if (walk->worse == PLAG_TREND_UP)
    return up;
  if (walk->worse == PLAG_TREND_DOWN)
    return down;
  return walk->reached > 0.0 ? up + down : all;
}

/* Fills `place` and those behind it with the values in `left`. Those in `earlier` stand at earlier
 * times than the place before. */
static void fill_from(struct arrangements *walk, size_t place, unsigned left, unsigned earlier,
                      double score) {
  if (place == walk->listed_place) {
    walk->as_far += count_as_far(walk, left, score);
    return;
  }
  if (walk->new_time[place])
    earlier = walk->whole & ~left;
  for (unsigned rest = left; rest != 0; rest &= rest - 1) {
    const unsigned item = (unsigned)__builtin_ctz(rest);
    const double with_item = score + walk->added[earlier][item];
    if (place + 1 < walk->count) {
      fill_from(walk, place + 1, left & ~(1u << item), earlier, with_item);
    } else {
      walk->all++;
      walk->as_far += where_worse(with_item, walk->worse) >= walk->reached;
    }
  }
}

/* The last places, if they begin at a time of their own. */
static size_t find_listed_place(const struct arrangements *walk) {
  const size_t place = walk->count > LAST_PLACES ? walk->count - LAST_PLACES : walk->count;
  return place < walk->count && walk->new_time[place] ? place : walk->count;
}

static double p_by_arrangements(const struct logs *logs, double score, plag_trend_side worse) {
  struct arrangements walk = {.worse = worse, .reached = where_worse(score, worse) - 1e-9};
  tell_scores(&walk, logs);
  sum_over_sets(&walk);
  walk.whole = (1u << walk.count) - 1;
  walk.listed_place = find_listed_place(&walk);
  fill_from(&walk, 0, walk.whole, 0, 0.0);
  return (double)walk.as_far / (double)walk.all;
}

plag_rank_test plag_rank_test_together(const plag_trend_point *const *figure, size_t figure_count,
                                       size_t count, plag_trend_side worse) {
  struct logs logs = {.figure = figure, .figure_count = figure_count, .count = count};
  assert(figure_count <= MOST_FIGURES);
  scale_figures(&logs);
  const struct sums sums = sums_of(&logs);
  assert(sums.count >= 3);
  plag_rank_test test = {.score = 0.5 * sums.both, .variance = variance_of(&sums)};
  if (sums.time_squares > 0.0 && sums.value_squares > 0.0)
    test.tau = sums.both / sqrt(sums.time_squares * sums.value_squares);
  test.p = sums.count <= MOST_EXACT ? p_by_arrangements(&logs, test.score, worse)
                                    : p_by_normal(test.score, test.variance, &sums, worse);
  return test;
}

plag_rank_test plag_rank_test_of(const plag_trend_point *point, size_t count,
                                 plag_trend_side worse) {
  return plag_rank_test_together(&point, 1, count, worse);
}
