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

/* The same of several figures of the same logs, which one cause drives: `figure[k][i]` is figure k
 * of log i, with the log's time; what a log does not show is not usable. A pair of logs scores the
 * sum of what it scores in each figure, each so scaled that all count alike, and what is arranged
 * anew is whole logs, so that figures that hang together are no more sure for it: E. J. Dietz, T.
 * J. Killeen, JASA 76 (1981) 169 (from memory), in Daniels' form. Some figure of three logs at
 * least is usable; one alone is plag_rank_test_of. */
plag_rank_test plag_rank_test_together(const plag_trend_point *const *figure, size_t figure_count,
                                       size_t count, plag_trend_side worse);

#endif
