/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/intervals.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#include "core/lesser.h"

#define SLICES 80 /* on each side */

void plag_cloud_begin(plag_cloud *cloud, double low, double high) {
  memset(cloud, 0, sizeof *cloud);
  cloud->low = low;
  cloud->high = high > low ? high : low + 1e-9;
}

static double bin_width(const plag_cloud *cloud) {
  return (cloud->high - cloud->low) / PLAG_CLOUD_BINS;
}

static double inside(double bin) {
  return plag_lesser(plag_greater(bin, 0.0), PLAG_CLOUD_BINS - 1e-9);
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

/* The mass below `at_s` integrated from the low edge up to there: quadratic inside a bin. */
static double integral_to(const plag_cloud *cloud, const double *below, const double *integral,
                          double at) {
  const double place = (at - cloud->low) / bin_width(cloud);
  if (!(place > 0.0))
    return 0.0;
  if (place >= PLAG_CLOUD_BINS)
    return integral[PLAG_CLOUD_BINS] +
           (place - PLAG_CLOUD_BINS) * bin_width(cloud) * below[PLAG_CLOUD_BINS];
  const size_t bin = (size_t)place;
  const double part = place - (double)bin;
  return integral[bin] + part * bin_width(cloud) * (below[bin] + 0.5 * part * cloud->mass[bin]);
}

/* Blurs by a box of half width `half`: each bin gets the mean of the mass below its own shifted
 * edges, exactly. */
static void blur_by_box(plag_cloud *cloud, double half) {
  const plag_cloud sharp = *cloud;
  double below[PLAG_CLOUD_BINS + 1];
  double integral[PLAG_CLOUD_BINS + 1];
  below[0] = integral[0] = 0.0;
  for (size_t bin = 0; bin < PLAG_CLOUD_BINS; bin++) {
    below[bin + 1] = below[bin] + sharp.mass[bin];
    integral[bin + 1] = integral[bin] + bin_width(&sharp) * (below[bin] + 0.5 * sharp.mass[bin]);
  }
  plag_cloud_begin(cloud, sharp.low - half, sharp.high + half);
  double before = 0.0;
  for (size_t bin = 0; bin < PLAG_CLOUD_BINS; bin++) {
    const double edge = cloud->low + (double)(bin + 1) * bin_width(cloud);
    const double now = (integral_to(&sharp, below, integral, edge + half) -
                        integral_to(&sharp, below, integral, edge - half)) /
                       (2.0 * half);
    cloud->mass[bin] = plag_greater(now - before, 0.0);
    before = now;
  }
}

void plag_cloud_shift(plag_cloud *cloud, double by) {
  cloud->low += by;
  cloud->high += by;
}

/* A triangle is a box twice. */
void plag_cloud_blur(plag_cloud *cloud, double bound) {
  const double width = bin_width(cloud);
  if (!(bound > 1e-3 * width))
    return;
  blur_by_box(cloud, 0.5 * bound);
  blur_by_box(cloud, 0.5 * bound);
}

void plag_cloud_from_normal(plag_cloud *cloud, double centre, double sd, double degrees) {
  const double scale = plag_greater(sd, 1e-9);
  const double reach = gsl_cdf_tdist_Pinv(0.9995, degrees);
  plag_cloud_begin(cloud, centre - reach * scale, centre + reach * scale);
  double below = 0.0; /* the outermost slices take what lies beyond, on both sides alike */
  for (int i = 0; i < SLICES; i++) {
    const double from = reach * (i - SLICES) / SLICES;
    const double to = reach * (i + 1 - SLICES) / SLICES;
    const double off = 0.5 * (from + to) * scale;
    const double half = 0.5 * (to - from) * scale;
    const double upto = gsl_cdf_tdist_P(to, degrees);
    plag_cloud_add(cloud, centre + off, half, upto - below);
    plag_cloud_add(cloud, centre - off, half, upto - below);
    below = upto;
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
  return (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, plag_greater(high, 0.0)};
}

platelag_estimate plag_estimate_normal(double value, double sd, double degrees) {
  if (!isfinite(value))
    return plag_estimate_nothing();
  const double half =
      degrees >= 1.0 && isfinite(sd) ? gsl_cdf_tdist_Pinv(0.95, degrees) * sd : (double)INFINITY;
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value - half, value + half};
}

platelag_estimate plag_estimate_of_log(double value, double log_sd, double degrees) {
  const platelag_estimate log_value = plag_estimate_normal(log(value), log_sd, degrees);
  return (platelag_estimate){log_value.known, value, exp(log_value.low), exp(log_value.high)};
}
