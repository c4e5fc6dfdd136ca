/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/theil_sen.h"

#include <stdlib.h>

#include "core/statistics.h"
#include "fleet/trend_points.h"

#define NORMAL_95 1.6448536269514722

/* A value and its weight: the slope of a pair, or the level that a point gives. */
struct weighed {
  double value, weight;
};

/* What a point's variance is made of, in units of the largest. */
struct scale {
  double between; /* variance of the logs about the line */
  double largest; /* variance of the worst known point; 0: all are exact and on one line */
};

static bool pair_counts(const plag_trend_point *a, const plag_trend_point *b) {
  return plag_trend_usable(a) && plag_trend_usable(b) && a->at_days != b->at_days;
}

static double slope_of(const plag_trend_point *a, const plag_trend_point *b) {
  return (b->value - a->value) / (b->at_days - a->at_days);
}

static double plain_slope(const plag_trend_point *point, size_t count, double *scratch) {
  size_t pairs = 0;
  for (size_t i = 0; i < count; i++)
    for (size_t j = i + 1; j < count; j++)
      if (pair_counts(&point[i], &point[j]))
        scratch[pairs++] = slope_of(&point[i], &point[j]);
  return plag_median(scratch, pairs);
}

/* The median absolute residual of the plain line, as a variance. The smallest residual stays out:
 * the line goes through two points, and of three logs two would always say that there is no scatter
 * (W. DuMouchel, F. O'Brien 1989, from memory). */
static double scatter_about_line(const plag_trend_point *point, size_t count, double origin_days,
                                 double *scratch) {
  const double slope = plain_slope(point, count, scratch);
  size_t used = 0;
  for (size_t i = 0; i < count; i++)
    if (plag_trend_usable(&point[i]))
      scratch[used++] = point[i].value - slope * (point[i].at_days - origin_days);
  const double middle = plag_median(scratch, used);
  size_t smallest = 0;
  for (size_t i = 0; i < used; i++) {
    scratch[i] = fabs(scratch[i] - middle);
    if (scratch[i] < scratch[smallest])
      smallest = i;
  }
  scratch[smallest] = scratch[used - 1];
  const double deviation = 1.4826 * plag_median(scratch, used - 1);
  return deviation * deviation;
}

static struct scale scale_of(const plag_trend_point *point, size_t count, double between) {
  struct scale scale = {between, 0.0};
  for (size_t i = 0; i < count; i++)
    if (plag_trend_usable(&point[i]))
      scale.largest = fmax(scale.largest, plag_trend_variance(&point[i]) + between);
  return scale;
}

/* Relative to the largest; never so small that a point weighs more than a million times another. */
static double variance_of(const plag_trend_point *point, struct scale scale) {
  if (scale.largest == 0.0)
    return 1.0;
  return fmax((plag_trend_variance(point) + scale.between) / scale.largest, 1e-6);
}

static double pair_weight(const plag_trend_point *a, const plag_trend_point *b,
                          struct scale scale) {
  return 1.0 / (variance_of(a, scale) + variance_of(b, scale));
}

static size_t list_slopes(const plag_trend_point *point, size_t count, struct scale scale,
                          struct weighed *list) {
  size_t pairs = 0;
  for (size_t i = 0; i < count; i++)
    for (size_t j = i + 1; j < count; j++)
      if (pair_counts(&point[i], &point[j]))
        list[pairs++] = (struct weighed){slope_of(&point[i], &point[j]),
                                         pair_weight(&point[i], &point[j], scale)};
  return pairs;
}

static size_t list_levels(const plag_trend_point *point, size_t count, struct scale scale,
                          double slope, double origin_days, struct weighed *list) {
  size_t used = 0;
  for (size_t i = 0; i < count; i++)
    if (plag_trend_usable(&point[i]))
      list[used++] = (struct weighed){point[i].value - slope * (point[i].at_days - origin_days),
                                      1.0 / variance_of(&point[i], scale)};
  return used;
}

static int smaller_first(const void *a, const void *b) {
  const double left = ((const struct weighed *)a)->value;
  const double right = ((const struct weighed *)b)->value;
  return (left > right) - (left < right);
}

static double sum_of_weights(const struct weighed *list, size_t count) {
  double sum = 0.0;
  for (size_t i = 0; i < count; i++)
    sum += list[i].weight;
  return sum;
}

/* Of a sorted list; between two values that part the weight in halves, their middle. */
static double weighted_median(const struct weighed *list, size_t count) {
  const double half = 0.5 * sum_of_weights(list, count);
  double below = 0.0;
  for (size_t i = 0; i + 1 < count; i++) {
    below += list[i].weight;
    if (fabs(below - half) <= 1e-9 * half)
      return 0.5 * (list[i].value + list[i + 1].value);
    if (below > half)
      return list[i].value;
  }
  return list[count - 1].value;
}

/* Variance of the sum of the pairs' weights with the signs of their residuals' order: pairs that
 * share a point go together by a third (Daniels 1944 with the weights as scores of the times). For
 * equal weights Kendall's n (n - 1) (2 n + 5) / 18, less what ties among the times take. */
static double variance_of_order(const plag_trend_point *point, size_t count, struct scale scale) {
  double rows = 0.0;
  double squares = 0.0;
  for (size_t i = 0; i < count; i++) {
    double row = 0.0;
    for (size_t j = 0; j < count; j++) {
      if (!pair_counts(&point[i], &point[j]))
        continue;
      const double weight = pair_weight(&point[i], &point[j], scale);
      row += point[j].at_days > point[i].at_days ? weight : -weight;
      squares += weight * weight;
    }
    rows += row * row;
  }
  return rows / 3.0 + squares / 6.0;
}

/* The slope by whose middle `rank` of weight is passed, from below; the first where none is. For
 * equal weights the slope whose number is nearest to the rank. */
static double slope_at_rank(const struct weighed *list, size_t count, double rank,
                            bool from_above) {
  double below = 0.0;
  double found = list[from_above ? count - 1 : 0].value;
  for (size_t i = 0; i < count; i++) {
    const struct weighed *here = &list[from_above ? count - 1 - i : i];
    if (below + 0.5 * here->weight > rank)
      break;
    found = here->value;
    below += here->weight;
  }
  return found;
}

plag_line plag_theil_sen(const plag_trend_point *point, size_t count, double origin_days,
                         double chance_in_order, double *scratch) {
  plag_line line = {.low_a_day = -INFINITY, .high_a_day = INFINITY};
  const double between = scatter_about_line(point, count, origin_days, scratch);
  const struct scale scale = scale_of(point, count, between);
  struct weighed *list = (struct weighed *)scratch;
  const size_t pairs = list_slopes(point, count, scale, list);
  qsort(list, pairs, sizeof *list, smaller_first);
  line.slope_a_day = weighted_median(list, pairs);
  if (chance_in_order <= 0.05) {
    const double reach = NORMAL_95 * sqrt(variance_of_order(point, count, scale));
    const double rank = 0.5 * (sum_of_weights(list, pairs) - reach);
    line.low_a_day = slope_at_rank(list, pairs, rank, false);
    line.high_a_day = slope_at_rank(list, pairs, rank, true);
  }
  const size_t used = list_levels(point, count, scale, line.slope_a_day, origin_days, list);
  qsort(list, used, sizeof *list, smaller_first);
  line.level = weighted_median(list, used);
  return line;
}
