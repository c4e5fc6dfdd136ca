/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From a weighted cloud of values (a likelihood integrated over a grid) to a value with a 90 %
 * interval. Where steps bracket an onset the likelihood is a box with soft sides, and the
 * chi-square law of profile likelihood does not hold (the box's own law is that of Exp(1), twice as
 * wide); integrated likelihood covers for smooth and for boxed shapes alike. */
#ifndef PLAG_MODEL_INTERVALS_H
#define PLAG_MODEL_INTERVALS_H

#include <stddef.h>

#include "platelag/fit.h"

#define PLAG_CLOUD_BINS 512

/* A density over value, collected cell by cell. */
typedef struct plag_cloud {
  double low, high; /* outer edges of the bins */
  double mass[PLAG_CLOUD_BINS];
} plag_cloud;

void plag_cloud_begin(plag_cloud *cloud, double low, double high);

/* Adds `weight` spread evenly over value +- half. What lies beyond the edges goes to the edge. */
void plag_cloud_add(plag_cloud *cloud, double value, double half, double weight);

/* Moves all of it. */
void plag_cloud_shift(plag_cloud *cloud, double by);

/* Blurs by a triangle of half width `bound`: the difference of two polls that fall anywhere inside
 * a row, each equally likely. */
void plag_cloud_blur(plag_cloud *cloud, double bound);

/* A cloud of its own: Student's t about `centre` with scale `sd`. */
void plag_cloud_from_normal(plag_cloud *cloud, double centre, double sd, double degrees);

/* The `share` quantile; NaN without mass. */
double plag_cloud_quantile(const plag_cloud *cloud, double share);

/* Median and the 5 % and 95 % quantiles. */
platelag_estimate plag_estimate_value(const plag_cloud *cloud);

/* At most the 90 % quantile. */
platelag_estimate plag_estimate_upper_limit(const plag_cloud *cloud);

/* Nothing known. */
platelag_estimate plag_estimate_nothing(void);

/* A value with a normal error of `sd` on `degrees` degrees of freedom (Student's t). */
platelag_estimate plag_estimate_normal(double value, double sd, double degrees);

/* The same of the logarithm of a value above 0; no grid would hold it where `log_sd` is large. */
platelag_estimate plag_estimate_of_log(double value, double log_sd, double degrees);

#endif
