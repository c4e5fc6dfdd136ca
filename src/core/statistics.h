/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order statistics, in linear time. */
#ifndef PLAG_CORE_STATISTICS_H
#define PLAG_CORE_STATISTICS_H

#include <stddef.h>

/* The `share` quantile (0..1, linear between neighbours) of `count` finite values; NaN for none.
 * The array is put in another order. */
double plag_quantile(double *value, size_t count, double share);

/* The median; NaN for none. The array is put in another order. */
double plag_median(double *value, size_t count);

/* Median absolute deviation from the median times 1.4826, which estimates a normal sd; NaN for
 * none. The array is overwritten. */
double plag_median_deviation(double *value, size_t count);

#endif
