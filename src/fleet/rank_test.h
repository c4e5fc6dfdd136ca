/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a series rises or falls at all, by the order of its values. */
#ifndef PLAG_FLEET_RANK_TEST_H
#define PLAG_FLEET_RANK_TEST_H

#include "fleet/trend.h"

typedef struct plag_rank_test {
  double score;    /* sum over the pairs */
  double variance; /* of the score over all arrangements of the values */
  double tau;      /* -1..1; Kendall's tau-b where all are exact */
  double p;
} plag_rank_test;

/* Mann and Kendall's test in the general form of H. E. Daniels, Biometrika 33 (1944) 129: a pair of
 * points scores the sign of its times' order, times how surely its values differ: 2 Phi(difference
 * over its deviation) - 1, which is the sign where both are exact. So what lies within the logs'
 * intervals counts in part. Ties score nothing. Of `count` points those that are usable, three at
 * least.
 * p to 8 points: the share of all arrangements of the values (with their intervals) over the times
 * that score as much or more; above, by the normal distribution. */
plag_rank_test plag_rank_test_of(const plag_trend_point *point, size_t count,
                                 plag_trend_side worse);

#endif
