/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a figure grows worse from log to log: slope, test, and when a limit will be crossed. Each
 * log's figure has an interval of its own, and is weighed by it. */
#ifndef PLAG_FLEET_TREND_H
#define PLAG_FLEET_TREND_H

#include <stdbool.h>
#include <stddef.h>

#define PLAG_DAYS_A_YEAR 365.25

/* One log's figure. Where only a limit or a bracket is known, value is the middle of [low, high].
 * A point of which any number is NaN or infinite stays out. */
typedef struct plag_trend_point {
  double at_days; /* any origin */
  double value;
  double low, high; /* 90 % interval; equal to value: exact */
} plag_trend_point;

/* Which way is worse. */
typedef enum plag_trend_side { PLAG_TREND_UP, PLAG_TREND_DOWN, PLAG_TREND_BOTH } plag_trend_side;

enum { PLAG_TREND_LEAST = 3 }; /* logs at different times that a slope takes */

typedef struct plag_trend {
  size_t count;                 /* points that were used */
  bool known;                   /* false: too few points; what follows is NaN */
  double slope_a_year;          /* weighted Theil-Sen; plain where all intervals are alike */
  double slope_low, slope_high; /* 90 %; infinite where so few logs bound no slope */
  double level_now;             /* of the line through the logs, at the last of them */
  double tau;                   /* the generalised rank correlation, -1..1 */
  double score, variance;       /* Mann-Kendall's S and its variance when all are exact */
  double p; /* one-sided in the direction that is worse, or two-sided for BOTH; exact to 8 logs */
} plag_trend;

/* When the line through the logs meets `limit`. */
typedef struct plag_crossing {
  bool crosses;   /* after the last log and within the horizon, by the slope's central value */
  double at_days; /* same origin as the points; NaN where it does not cross */
  double earliest_days, latest_days; /* from the ends of the slope's interval, whatever the horizon;
                                        +INFINITY: never. NaN where the trend is not known */
} plag_crossing;

/* The trend of `count` points in any order. `scratch`, count * count doubles of the caller's, is
 * overwritten. Slope and test: theil_sen.h, rank_test.h. */
plag_trend plag_trend_of(const plag_trend_point *point, size_t count, plag_trend_side worse,
                         double *scratch);

/* When `trend`, whose last log is of `last_at_days`, meets `limit`. It knows no side: a line that
 * is beyond the limit already crosses only if it comes back, so ask for limits that lie ahead. */
plag_crossing plag_trend_crossing(const plag_trend *trend, double last_at_days, double limit,
                                  double horizon_days);

#endif
