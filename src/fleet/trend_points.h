/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the slope and the test both ask of a series of logs. */
#ifndef PLAG_FLEET_TREND_POINTS_H
#define PLAG_FLEET_TREND_POINTS_H

#include <math.h>

#include "fleet/trend.h"

/* Variance of a log's figure, its 90 % interval taken for a normal one's. */
static inline double plag_trend_variance(const plag_trend_point *point) {
  const double deviation = (point->high - point->low) / (2.0 * 1.6448536269514722);
  return deviation * deviation;
}

/* Whether a point takes part. */
static inline bool plag_trend_usable(const plag_trend_point *point) {
  return isfinite(point->at_days) && isfinite(point->value) && isfinite(plag_trend_variance(point));
}

static inline double plag_sign(double value) {
  return (double)((value > 0.0) - (value < 0.0));
}

#endif
