/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The slope of a series whose points have intervals of their own. */
#ifndef PLAG_FLEET_THEIL_SEN_H
#define PLAG_FLEET_THEIL_SEN_H

#include "fleet/trend.h"

typedef struct plag_line {
  double slope_a_day;
  double low_a_day, high_a_day; /* 90 % */
  double level;                 /* at `origin_days` */
} plag_line;

/* The weighted median of the slopes of all pairs of usable points at different times, of which
 * there must be one at least: H. Theil (1950), P. K. Sen, JASA 63 (1968) 1379. A pair weighs one
 * over the sum of its points' variances; to each is added the scatter of the logs about the plain
 * line, so that one very narrow interval cannot carry the line. Alike intervals: the plain median.
 * The interval is Sen's, counted in weight. Where its ranks do not exist its ends are the outermost
 * slopes, and infinite where even these, by `chance_in_order`, cover less than 90 %: the chance
 * that a series without a trend comes out in order of its times. `scratch`: count * count doubles,
 * overwritten. */
plag_line plag_theil_sen(const plag_trend_point *point, size_t count, double origin_days,
                         double chance_in_order, double *scratch);

#endif
