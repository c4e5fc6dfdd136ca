/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What one vehicle's few logs say, leaned on what its kind says. */
#ifndef PLAG_FLEET_SHRINK_H
#define PLAG_FLEET_SHRINK_H

#include <stddef.h>

/* Moves each of `count` values towards the weighted mean of all, by the share that its own variance
 * has in its variance and the variance between vehicles: empirical Bayes (B. Efron, C. Morris, JASA
 * 70 (1975) 311), with the spread between vehicles after R. DerSimonian, N. Laird, Control. Clin.
 * Trials 7 (1986) 177. In place. A value that is not finite, or whose variance is NaN or negative,
 * stays and takes no part; of infinite variance: the mean; of none: stays and counts. */
void plag_shrink(double *value, const double *variance, size_t count);

#endif
