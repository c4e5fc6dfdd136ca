/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/intervals.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#define BLUR_POINTS 9

void plag_cloud_begin(plag_cloud *cloud, double low, double high) {
  memset(cloud, 0, sizeof *cloud);
  cloud->low = low;
  cloud->high = high > low ? high : low + 1e-9;
}

static double bin_width(const plag_cloud *cloud) {
  return (cloud->high - cloud->low) / PLAG_CLOUD_BINS;
}

static double inside(double bin) {
  return fmin(fmax(bin, 0.0), PLAG_CLOUD_BINS - 1e-9);
}

void plag_cloud_add(plag_cloud *cloud, double value, double half, double weight) {
  const double width = bin_width(cloud);
  const double from = inside((value - half - cloud->low) / width);
  const double to = inside((value + half - cloud->low) / width);
  const size_t first = (size_t)from;
  const size_t last = (size_t)to;
  if (first == last) {
    cloud->mass[first] += weight;
    return;
  }
  const double density = weight / (to - from);
  cloud->mass[first] += density * ((double)(first + 1) - from);
  for (size_t bin = first + 1; bin < last; bin++)
    cloud->mass[bin] += density;
  cloud->mass[last] += density * (to - (double)last);
}

void plag_cloud_blur(plag_cloud *cloud, double bound) {
  if (!(bound > 0.0))
    return;
  const plag_cloud sharp = *cloud;
  const double width = bin_width(cloud);
  plag_cloud_begin(cloud, sharp.low - bound, sharp.high + bound);
  for (size_t bin = 0; bin < PLAG_CLOUD_BINS; bin++) {
    if (sharp.mass[bin] <= 0.0)
      continue;
    const double value = sharp.low + ((double)bin + 0.5) * width;
    for (int i = -BLUR_POINTS; i <= BLUR_POINTS; i++) {
      const double share = (double)i / (BLUR_POINTS + 1);
      plag_cloud_add(cloud, value + share * bound, 0.5 * bound / (BLUR_POINTS + 1),
                     sharp.mass[bin] * (1.0 - fabs(share)) / (BLUR_POINTS + 1));
    }
  }
}

double plag_cloud_quantile(const plag_cloud *cloud, double share) {
  double total = 0.0;
  for (size_t bin = 0; bin < PLAG_CLOUD_BINS; bin++)
    total += cloud->mass[bin];
  if (!(total > 0.0) || !isfinite(total))
    return NAN;
  double below = 0.0;
  for (size_t bin = 0; bin < PLAG_CLOUD_BINS; bin++) {
    if (below + cloud->mass[bin] >= share * total && cloud->mass[bin] > 0.0) {
      const double part = (share * total - below) / cloud->mass[bin];
      return cloud->low + ((double)bin + part) * bin_width(cloud);
    }
    below += cloud->mass[bin];
  }
  return cloud->high;
}

platelag_estimate plag_estimate_nothing(void) {
  return (platelag_estimate){PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
}

platelag_estimate plag_estimate_value(const plag_cloud *cloud) {
  const double value = plag_cloud_quantile(cloud, 0.5);
  if (isnan(value))
    return plag_estimate_nothing();
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, plag_cloud_quantile(cloud, 0.05),
                             plag_cloud_quantile(cloud, 0.95)};
}

platelag_estimate plag_estimate_upper_limit(const plag_cloud *cloud) {
  const double high = plag_cloud_quantile(cloud, 0.90);
  if (isnan(high))
    return plag_estimate_nothing();
  return (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, fmax(high, 0.0)};
}

platelag_estimate plag_estimate_normal(double value, double sd, double degrees) {
  if (!isfinite(value))
    return plag_estimate_nothing();
  const double half =
      degrees >= 1.0 && isfinite(sd) ? gsl_cdf_tdist_Pinv(0.95, degrees) * sd : (double)INFINITY;
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value - half, value + half};
}
