/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/trend.h"

#include "fleet/rank_test.h"
#include "fleet/theil_sen.h"
#include "fleet/trend_points.h"

/* What a series is made of. */
struct series {
  size_t count, times; /* usable points; different times among them */
  double last_at_days;
  double chance_in_order; /* that without a trend all pairs of different times agree */
};

/* How many of the usable points before `index`, and itself, are of its time. */
static size_t at_same_time(const plag_trend_point *point, size_t index) {
  size_t same = 1;
  for (size_t i = 0; i < index; i++)
    same += plag_trend_usable(&point[i]) && point[i].at_days == point[index].at_days;
  return same;
}

static struct series look_at(const plag_trend_point *point, size_t count) {
  struct series series = {.last_at_days = -INFINITY, .chance_in_order = 1.0};
  for (size_t i = 0; i < count; i++) {
    if (!plag_trend_usable(&point[i]))
      continue;
    const size_t same = at_same_time(point, i);
    series.count++;
    series.times += same == 1;
    series.last_at_days = fmax(series.last_at_days, point[i].at_days);
    series.chance_in_order *= (double)same / (double)series.count;
  }
  return series;
}

plag_trend plag_trend_of(const plag_trend_point *point, size_t count, plag_trend_side worse,
                         double *scratch) {
  const struct series series = look_at(point, count);
  if (series.times < PLAG_TREND_LEAST)
    return (plag_trend){series.count, false, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
  const plag_line line =
      plag_theil_sen(point, count, series.last_at_days, series.chance_in_order, scratch);
  const plag_rank_test test = plag_rank_test_of(point, count, worse);
  return (plag_trend){
      .count = series.count,
      .known = true,
      .slope_a_year = line.slope_a_day * PLAG_DAYS_A_YEAR,
      .slope_low = line.low_a_day * PLAG_DAYS_A_YEAR,
      .slope_high = line.high_a_day * PLAG_DAYS_A_YEAR,
      .level_now = line.level,
      .tau = test.tau,
      .score = test.score,
      .variance = test.variance,
      .p = test.p,
  };
}

/* Days until a line that is `ahead` below the limit meets it; INFINITY where it leads away. */
static double days_until(double ahead, double slope_a_year) {
  if (ahead == 0.0)
    return 0.0;
  const double days = ahead / slope_a_year * PLAG_DAYS_A_YEAR;
  return slope_a_year == 0.0 || signbit(days) ? INFINITY : days;
}

plag_crossing plag_trend_crossing(const plag_trend *trend, double last_at_days, double limit,
                                  double horizon_days) {
  plag_crossing crossing = {false, NAN, NAN, NAN};
  const double ahead = limit - trend->level_now;
  if (!trend->known || isnan(ahead))
    return crossing;
  const double central = days_until(ahead, trend->slope_a_year);
  const double by_low = days_until(ahead, trend->slope_low);
  const double by_high = days_until(ahead, trend->slope_high);
  crossing.crosses = isfinite(central) && central <= horizon_days;
  crossing.at_days = crossing.crosses ? last_at_days + central : NAN;
  crossing.earliest_days = last_at_days + fmin(by_low, by_high);
  crossing.latest_days = last_at_days + fmax(by_low, by_high);
  return crossing;
}
