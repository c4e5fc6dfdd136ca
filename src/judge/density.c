/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/density.h"

#include <math.h>

#define LOG_ROOT_TWO_PI 0.91893853320467274178

/* lgamma writes a global sign; this one does not. */
static double log_gamma(double x) {
  int sign = 1;
  return lgamma_r(x, &sign);
}

static double log_beta(double a, double b) {
  return log_gamma(a) + log_gamma(b) - log_gamma(a + b);
}

static double mixed_by(double log_density, double log_background, double share) {
  const double own = log(1.0 - share) + log_density;
  const double other = log(share) + log_background;
  const double most = fmax(own, other);
  return most + log(exp(own - most) + exp(other - most));
}

static double mixed(double log_density, double log_background) {
  return mixed_by(log_density, log_background, PLAG_DENSITY_BACKGROUND);
}

double plag_density_proportion(double value, plag_proportion expected) {
  return plag_density_proportion_by(value, expected, PLAG_DENSITY_BACKGROUND);
}

double plag_density_proportion_by(double value, plag_proportion expected, double share) {
  if (!(expected.strength > 0))
    return 0;
  /* A Beta density runs to infinity at the ends; a share is not known better than to 0.2 %. */
  const double x = fmin(fmax(value, 0.002), 0.998);
  const double a = expected.mean * expected.strength;
  const double b = (1.0 - expected.mean) * expected.strength;
  return mixed_by((a - 1.0) * log(x) + (b - 1.0) * log1p(-x) - log_beta(a, b), 0, share);
}

static double log_gamma_poisson(double count, double mean, double shape) {
  return log_gamma(count + shape) - log_gamma(shape) - log_gamma(count + 1.0) +
         shape * log(shape / (shape + mean)) + count * log(mean / (shape + mean));
}

double plag_density_count(double count, double exposure, plag_rate expected, double share) {
  /* The background: anything from none to a few for each unit of exposure. */
  const double broad = log_gamma_poisson(count, 0.5 * exposure + 1.0, 0.4);
  if (!(expected.shape > 0))
    return broad;
  return mixed_by(log_gamma_poisson(count, expected.rate * exposure + 1e-3, expected.shape), broad,
                  share);
}

double plag_density_level(double value, double range, plag_level expected, double share) {
  if (!(expected.sd > 0))
    return -log(range);
  const double z = (value - expected.centre) / expected.sd;
  return mixed_by(-0.5 * z * z - log(expected.sd) - LOG_ROOT_TWO_PI, -log(range), share);
}

double plag_density_spread(double value, double range, double scale) {
  if (!(scale > 0))
    return -log(range);
  const double z = value / scale;
  return mixed(log(2.0) - 0.5 * z * z - log(scale) - LOG_ROOT_TWO_PI, -log(range));
}

double plag_density_chance(double k, double n, plag_chance expected) {
  const double choose = log_gamma(n + 1.0) - log_gamma(k + 1.0) - log_gamma(n - k + 1.0);
  const double background = -log(n + 1.0);
  if (!(expected.a > 0 && expected.b > 0))
    return mixed(choose - n * log(2.0), background);
  return mixed(choose + log_beta(k + expected.a, n - k + expected.b) -
                   log_beta(expected.a, expected.b),
               background);
}

double plag_density_yes(double value, double yes) {
  if (yes < 0)
    return log(0.5);
  return log(value > 0.5 ? yes : 1.0 - yes);
}

/* Scatter of healthy values, log (a factor of 1.8 either way). */
#define HEALTHY_LOG_SD 0.57

double plag_density_side(double above, double ratio, double healthy, double most,
                         double expected_above) {
  double below_density = 1;
  double above_density = 1;
  double flat = 0.5;
  if (isfinite(ratio)) {
    const double z = log(fmax(ratio, 1e-3) / healthy) / HEALTHY_LOG_SD;
    below_density = exp(-0.5 * fmin(z * z, 9.0) - LOG_ROOT_TWO_PI) / HEALTHY_LOG_SD;
    above_density = 1.0 / log(most);
    flat = 1.0 / log(20.0 * most); /* from a twentieth of the limit to `most` times it */
  }
  const double other = PLAG_DENSITY_BACKGROUND_LIMIT;
  return log((1.0 - other) * ((1.0 - expected_above) * (1.0 - above) * below_density +
                              expected_above * above * above_density) +
             other * flat);
}

double plag_density_normal_below(double z) {
  return 0.5 * erfc(-z * 0.70710678118654752440);
}
