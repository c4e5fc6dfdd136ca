/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/shrink.h"

#include <math.h>
#include <stdbool.h>

static bool usable(double value, double variance) {
  return isfinite(value) && variance >= 0.0;
}

/* Below this a variance is not believed when weights are made: exact values would have the only
 * say. Where nothing else is there, they weigh alike. */
static double least_variance(const double *value, const double *variance, size_t count) {
  double largest = 0.0;
  for (size_t i = 0; i < count; i++)
    if (usable(value[i], variance[i]) && isfinite(variance[i]))
      largest = fmax(largest, variance[i]);
  return largest > 0.0 ? 1e-9 * largest : 1.0;
}

struct family {
  size_t count;
  double weights, squares; /* sums of the weights and of their squares */
  double mean;
  double misfit; /* weighted squares about the mean: Cochran's Q */
};

static double weight_of(double variance, double least, double between) {
  return 1.0 / (fmax(variance, least) + between);
}

/* The weighted family where vehicles differ by a variance of `between`. */
static struct family family_of(const double *value, const double *variance, size_t count,
                               double least, double between) {
  struct family family = {0};
  for (size_t i = 0; i < count; i++) {
    if (!usable(value[i], variance[i]))
      continue;
    const double weight = weight_of(variance[i], least, between);
    family.count += weight > 0.0;
    family.weights += weight;
    family.squares += weight * weight;
    family.mean += weight * value[i];
  }
  family.mean /= family.weights;
  for (size_t i = 0; i < count; i++)
    if (usable(value[i], variance[i]))
      family.misfit += weight_of(variance[i], least, between) * (value[i] - family.mean) *
                       (value[i] - family.mean);
  return family;
}

/* What vehicles differ by, as a variance: what the misfit has above chance. */
static double variance_between(const struct family *family) {
  const double above_chance = family->misfit - ((double)family->count - 1.0);
  const double share = family->weights - family->squares / family->weights;
  return share > 0.0 ? fmax(0.0, above_chance / share) : 0.0;
}

void plag_shrink(double *value, const double *variance, size_t count) {
  const double least = least_variance(value, variance, count);
  const struct family apart = family_of(value, variance, count, least, 0.0);
  if (apart.count == 0)
    return;
  const double between = variance_between(&apart);
  const double mean = family_of(value, variance, count, least, between).mean;
  for (size_t i = 0; i < count; i++)
    if (usable(value[i], variance[i]) && variance[i] > 0.0)
      value[i] = mean + between / (between + variance[i]) * (value[i] - mean);
}
