/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/likeness.h"

#include <gsl/gsl_fft_halfcomplex.h>
#include <gsl/gsl_fft_real.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/statistics.h"

/* Noise beyond so many standard deviations is a move. */
#define MOVE_SD 4.0
/* Correlation that counts, and by how many times the standard deviation of independent readings it
 * must stand out: of 30,000 offsets the largest by chance stands at some 4.2 of its own, which for
 * differences of neighbours is 1.4 times as wide (M. S. Bartlett, J. R. Stat. Soc. Suppl. 8 (1946)
 * 27). */
#define CORRELATION_LEAST 0.3
#define CHANCE_SD         9.0

size_t plag_noise_size(size_t longest) {
  size_t size = 2;
  while (size < 2 * longest)
    size *= 2;
  return size;
}

/* What a reading differs from the middle of its neighbours, NaN at the ends and where one misses.
 */
static void differ(const double *value, size_t count, double *out) {
  for (size_t i = 0; i < count; i++)
    out[i] = i > 0 && i + 1 < count ? value[i] - 0.5 * (value[i - 1] + value[i + 1]) : NAN;
}

/* The spread of what is finite and not nothing: most readings of a coarse converter repeat. */
static double spread_of(const double *noise, size_t count, double *scratch) {
  size_t kept = 0;
  for (size_t i = 0; i < count; i++)
    if (isfinite(noise[i]) && noise[i] != 0)
      scratch[kept++] = fabs(noise[i]);
  return 1.4826 * plag_median(scratch, kept);
}

/* Of readings that stand: on the way, when a reading was taken tells more of it than noise does,
 * and a recorder that repeats readings leaves the same pattern in everybody's. */
static void keep_noise(plag_noise *out, const double *value, double spread) {
  double energy = 0;
  for (size_t i = 0; i < out->count; i++) {
    double *noise = &out->noise[i];
    if (!isfinite(*noise) || !(fabs(*noise) <= MOVE_SD * spread) ||
        !(fabs(value[i + 1] - value[i - 1]) <= MOVE_SD * spread))
      *noise = 0;
    out->lively += *noise != 0;
    energy += *noise * *noise;
  }
  for (size_t i = 0; i < out->count && energy > 0; i++)
    out->noise[i] /= sqrt(energy);
}

bool plag_noise_take(const double *value, size_t count, size_t size, plag_noise *out) {
  *out = (plag_noise){.count = count};
  out->noise = calloc(count + 1, sizeof *out->noise);
  out->transform = calloc(size, sizeof *out->transform);
  if (out->noise == NULL || out->transform == NULL)
    return false;
  differ(value, count, out->noise);
  keep_noise(out, value, spread_of(out->noise, count, out->transform));
  memset(out->transform, 0, size * sizeof *out->transform);
  memcpy(out->transform, out->noise, count * sizeof *out->noise);
  return gsl_fft_real_radix2_transform(out->transform, 1, size) == 0;
}

void plag_noise_clear(plag_noise *noise) {
  free(noise->noise);
  free(noise->transform);
  *noise = (plag_noise){0};
}

/* The transform of the cross-correlation: one times the other's conjugate, half-complex. */
static void multiply(const double *one, const double *other, size_t size, double *out) {
  const size_t half = size / 2;
  out[0] = one[0] * other[0];
  out[half] = one[half] * other[half];
  for (size_t i = 1; i < half; i++) {
    const double a = one[i];
    const double b = one[size - i];
    const double c = other[i];
    const double d = other[size - i];
    out[i] = a * c + b * d;
    out[size - i] = b * c - a * d;
  }
}

static ptrdiff_t best_offset(const double *correlation, size_t size) {
  size_t best = 0;
  for (size_t i = 1; i < size; i++)
    if (fabs(correlation[i]) > fabs(correlation[best]))
      best = i;
  return best < size / 2 ? (ptrdiff_t)best : (ptrdiff_t)best - (ptrdiff_t)size;
}

/* Where the two lie over each other, as places in the one. */
typedef struct overlap {
  size_t from, to;
} overlap;

static overlap overlap_of(const plag_noise *one, const plag_noise *other, ptrdiff_t offset) {
  const ptrdiff_t end = offset + (ptrdiff_t)other->count;
  const size_t from = offset > 0 ? (size_t)offset : 0;
  const size_t to = end < (ptrdiff_t)one->count ? (size_t)(end > 0 ? end : 0) : one->count;
  return (overlap){from, to > from ? to : from};
}

static void correlate(const plag_noise *one, const plag_noise *other, overlap over,
                      plag_match *match) {
  double both = 0;
  double first = 0;
  double second = 0;
  for (size_t i = over.from; i < over.to; i++) {
    const double a = one->noise[i];
    const double b = other->noise[(ptrdiff_t)i - match->offset];
    if (a == 0 || b == 0)
      continue;
    match->samples++;
    both += a * b;
    first += a * a;
    second += b * b;
  }
  match->correlation = first > 0 && second > 0 ? both / sqrt(first * second) : 0;
}

/* A straight line of the other's readings over the one's, by least squares. */
static void fit_scale(const double *one, const double *other, overlap over, plag_match *match) {
  double n = 0;
  double x = 0;
  double y = 0;
  double xx = 0;
  double xy = 0;
  double yy = 0;
  for (size_t i = over.from; i < over.to; i++) {
    const double a = one[i];
    const double b = other[(ptrdiff_t)i - match->offset];
    if (!isfinite(a) || !isfinite(b))
      continue;
    n++;
    x += a;
    y += b;
    xx += a * a;
    xy += a * b;
    yy += b * b;
  }
  const double sxx = xx - x * x / n;
  const double sxy = xy - x * y / n;
  const double syy = yy - y * y / n;
  match->scale = sxx > 0 ? sxy / sxx : NAN;
  match->residual_share = sxx > 0 && syy > 0 ? sqrt(fmax(1 - sxy * sxy / (sxx * syy), 0)) : NAN;
}

plag_match plag_noise_match(const plag_noise *one, const double *one_value, const plag_noise *other,
                            const double *other_value, size_t size, double *scratch) {
  plag_match match = {0};
  multiply(one->transform, other->transform, size, scratch);
  if (gsl_fft_halfcomplex_radix2_inverse(scratch, 1, size) != 0)
    return match;
  match.offset = best_offset(scratch, size);
  const overlap over = overlap_of(one, other, match.offset);
  const size_t shorter = one->count < other->count ? one->count : other->count;
  match.share = shorter > 0 ? (double)(over.to - over.from) / (double)shorter : 0;
  correlate(one, other, over, &match);
  fit_scale(one_value, other_value, over, &match);
  return match;
}

bool plag_match_is_likeness(const plag_match *match) {
  const double size = fabs(match->correlation);
  /* What is turned over in the noise is turned over in the moves. */
  const bool agrees = !(match->correlation * match->scale < 0);
  return agrees && match->samples >= PLAG_LIVELY_LEAST && size >= CORRELATION_LEAST &&
         size * sqrt((double)match->samples) >= CHANCE_SD;
}
