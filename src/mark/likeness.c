/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/likeness.h"

#include <gsl/gsl_fft_halfcomplex.h>
#include <gsl/gsl_fft_real.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/statistics.h"

/* Noise beyond so many spreads is a move. */
#define MOVE_SD 4.0

/* Correlation that counts, and by how many times the standard deviation of independent readings it
 * must stand out. A reading less the middle of its neighbours is correlated with the next ones by
 * -2/3 and 1/6; where two such series are independent, their correlation over n readings has the
 * variance (1 + 2 (4/9 + 1/36)) / n (M. S. Bartlett, J. R. Stat. Soc. Suppl. 8 (1946) 27), 1.39
 * times the width of white noise. 9 of the latter are 6.5 of the former: two-sided 1e-10, for each
 * of some 10,000 offsets 1e-6 a pair. */
#define CORRELATION_LEAST 0.2
#define CHANCE_SD         9.0

/* --- the noise of one recording --------------------------------------------------------------- */

/* Fresh readings on either side that tell whether a valve stands, and the longest time between
 * fresh ones that is looked for. */
enum { SIDE = 3, REFRESH_MOST = 20 };

/* What is known of a recording before its noise is taken. */
typedef struct manner {
  size_t refresh; /* a recorder may ask oftener than a controller answers: it repeats readings */
  bool repeats;   /* irregularly, perhaps */
  double step;    /* the converter's, or the rounding's */
  double spread;  /* of the noise */
} manner;

/* By how many readings the next is a fresh one: runs of equal readings are hardly shorter. */
static void find_refresh(const double *value, size_t count, manner *out) {
  size_t runs[REFRESH_MOST + 1] = {0};
  size_t all = 0;
  size_t length = 1;
  size_t same = 0;
  for (size_t i = 1; i < count; i++) {
    length = value[i] == value[i - 1] ? length + 1 : 1;
    same += value[i] == value[i - 1];
    if (i + 1 < count && value[i + 1] != value[i]) {
      runs[length < REFRESH_MOST ? length : REFRESH_MOST]++;
      all++;
    }
  }
  out->refresh = 1;
  for (size_t shorter = runs[1]; out->refresh < REFRESH_MOST && 5 * shorter <= all;)
    shorter += runs[++out->refresh];
  out->repeats = 10 * same > count;
  if (all == 0)
    out->refresh = 1;
}

static size_t end_of_run(const double *value, size_t count, size_t at) {
  size_t end = at + 1;
  while (end < count && value[end] == value[at])
    end++;
  return end;
}

/* What a reading differs from the middle of the ones before and after; NaN at the ends and where
 * one misses. Where readings are repeated, fresh ones alone are told, and by the fresh ones around.
 */
static void differ(const double *value, size_t count, size_t refresh, double *out) {
  for (size_t i = 0; i < count; i++)
    out[i] = NAN;
  for (size_t i = 1; i + 1 < count;) {
    const size_t next = refresh > 1 ? end_of_run(value, count, i) : i + 1;
    if (next < count)
      out[i] = value[i] - 0.5 * (value[i - 1] + value[next]);
    i = next;
  }
}

/* The spread of what is finite and not nothing: most readings of a coarse converter repeat. */
static double spread_of(const double *noise, size_t count, double *scratch) {
  size_t kept = 0;
  for (size_t i = 0; i < count; i++)
    if (isfinite(noise[i]) && noise[i] != 0)
      scratch[kept++] = fabs(noise[i]);
  return 1.4826 * plag_median(scratch, kept);
}

static int by_size(const void *one, const void *other) {
  const double a = *(const double *)one;
  const double b = *(const double *)other;
  return (a > b) - (a < b);
}

/* The converter's step: one reading in ten that differs from the last differs by no more. */
static double step_of(const double *value, size_t count, double *scratch) {
  size_t kept = 0;
  for (size_t i = 1; i < count; i++)
    if (isfinite(value[i] - value[i - 1]) && value[i] != value[i - 1])
      scratch[kept++] = fabs(value[i] - value[i - 1]);
  if (kept == 0)
    return 0;
  qsort(scratch, kept, sizeof *scratch, by_size);
  return scratch[kept / 10];
}

static double mean_of(const double *value, size_t from, size_t to) {
  double sum = 0;
  double count = 0;
  for (size_t i = from; i < to; i++)
    if (isfinite(value[i])) {
      sum += value[i];
      count++;
    }
  return sum / count;
}

/* Whether the readings before and after stand at one level: where they do not, the reading tells of
 * the move, and of when it was taken, which everybody's recording of that move does. Where a coarse
 * converter's step is larger than the noise, a slow move crosses it at the same reading in all
 * recordings, which looks like noise from the reading's neighbours alone. */
static bool stands(const double *value, size_t count, size_t at, const manner *by) {
  const size_t side = SIDE * by->refresh;
  const size_t behind = at + by->refresh;
  const size_t from = at > side ? at - side : 0;
  const size_t to = behind + side < count ? behind + side : count;
  const bool coarse = (by->repeats && by->refresh == 1) || by->step > 0.5 * by->spread;
  /* Half a step and no more tells a level that is passed for good from one that is toggled. */
  const double most = (coarse ? 0.65 : 2) * by->spread;
  return fabs(mean_of(value, behind, to) - mean_of(value, from, at)) <= most;
}

static void keep_noise(plag_noise *out, const double *value, const manner *by) {
  for (size_t i = 0; i < out->count; i++) {
    double *noise = &out->noise[i];
    const bool kept = isfinite(*noise) && fabs(*noise) <= MOVE_SD * by->spread &&
                      stands(value, out->count, i, by);
    if (!kept)
      *noise = NAN;
    out->lively += kept && *noise != 0;
  }
}

/* --- transforms ------------------------------------------------------------------------------- */

struct plag_noise_plan {
  size_t size;
  gsl_fft_real_wavetable *forward;
  gsl_fft_halfcomplex_wavetable *backward;
  gsl_fft_real_workspace *work;
  double *product;
};

/* Two or three times a power of two: as large as the longest recording. Correlation by transforms
 * is circular, so that each of its places stands for two offsets; both are looked at. */
static size_t size_for(size_t longest) {
  size_t size = 8;
  while (size < longest)
    size *= 2;
  return size / 4 * 3 >= longest ? size / 4 * 3 : size;
}

plag_noise_plan *plag_noise_plan_create(size_t longest) {
  plag_noise_plan *plan = calloc(1, sizeof *plan);
  if (plan == NULL)
    return NULL;
  plan->size = size_for(longest);
  plan->product = calloc(plan->size, sizeof *plan->product);
  plan->forward = gsl_fft_real_wavetable_alloc(plan->size);
  plan->backward = gsl_fft_halfcomplex_wavetable_alloc(plan->size);
  plan->work = gsl_fft_real_workspace_alloc(plan->size);
  if (plan->product != NULL && plan->forward != NULL && plan->backward != NULL &&
      plan->work != NULL)
    return plan;
  plag_noise_plan_destroy(plan);
  return NULL;
}

void plag_noise_plan_destroy(plag_noise_plan *plan) {
  if (plan == NULL)
    return;
  free(plan->product);
  if (plan->forward != NULL)
    gsl_fft_real_wavetable_free(plan->forward);
  if (plan->backward != NULL)
    gsl_fft_halfcomplex_wavetable_free(plan->backward);
  if (plan->work != NULL)
    gsl_fft_real_workspace_free(plan->work);
  free(plan);
}

static bool transform(plag_noise *out, plag_noise_plan *plan) {
  out->transform = calloc(plan->size, sizeof *out->transform);
  if (out->transform == NULL)
    return false;
  for (size_t i = 0; i < out->count; i++)
    out->transform[i] = isnan(out->noise[i]) ? 0 : out->noise[i];
  return gsl_fft_real_transform(out->transform, 1, plan->size, plan->forward, plan->work) == 0;
}

bool plag_noise_take(const double *value, size_t count, plag_noise_plan *plan, plag_noise *out) {
  *out = (plag_noise){.count = count};
  out->noise = calloc(count + 1, sizeof *out->noise);
  double *scratch = calloc(count + 1, sizeof *scratch);
  if (out->noise != NULL && scratch != NULL) {
    manner by = {.step = step_of(value, count, scratch)};
    find_refresh(value, count, &by);
    differ(value, count, by.refresh, out->noise);
    by.spread = spread_of(out->noise, count, scratch);
    keep_noise(out, value, &by);
  }
  const bool done = out->noise != NULL && scratch != NULL;
  free(scratch);
  return done && (plan == NULL || transform(out, plan));
}

void plag_noise_clear(plag_noise *noise) {
  free(noise->noise);
  free(noise->transform);
  *noise = (plag_noise){0};
}

/* The transform of the cross-correlation: one times the other's conjugate. Real parts and imaginary
 * ones by turns, from the first, which has no imaginary part, to the last, which has none where the
 * size is even. */
static void multiply(const double *one, const double *other, size_t size, double *out) {
  out[0] = one[0] * other[0];
  out[size - 1] = one[size - 1] * other[size - 1];
  for (size_t i = 1; i + 1 < size; i += 2) {
    out[i] = one[i] * other[i] + one[i + 1] * other[i + 1];
    out[i + 1] = one[i + 1] * other[i] - one[i] * other[i + 1];
  }
}

static size_t best_place(const double *correlation, size_t size) {
  size_t best = 0;
  for (size_t i = 1; i < size; i++)
    if (fabs(correlation[i]) > fabs(correlation[best]))
      best = i;
  return best;
}

/* --- one laid over the other ------------------------------------------------------------------ */

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

/* Readings that stand in both count, also those that have no noise in one of them; those that have
 * none in either add nothing and are not counted. Returns the sum of products. */
static double correlate(const plag_noise *one, const plag_noise *other, overlap over,
                        plag_match *match) {
  double both = 0;
  double first = 0;
  double second = 0;
  for (size_t i = over.from; i < over.to; i++) {
    const double a = one->noise[i];
    const double b = other->noise[(ptrdiff_t)i - match->offset];
    if (isnan(a) || isnan(b) || (a == 0 && b == 0))
      continue;
    match->samples++;
    both += a * b;
    first += a * a;
    second += b * b;
  }
  match->correlation = first > 0 && second > 0 ? both / sqrt(first * second) : 0;
  return both;
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
                            const double *other_value, plag_noise_plan *plan) {
  plag_match best = {0};
  double most = -1;
  multiply(one->transform, other->transform, plan->size, plan->product);
  if (gsl_fft_halfcomplex_transform(plan->product, 1, plan->size, plan->backward, plan->work) != 0)
    return best;
  const ptrdiff_t place = (ptrdiff_t)best_place(plan->product, plan->size);
  const ptrdiff_t offsets[2] = {place, place - (ptrdiff_t)plan->size};
  for (size_t i = 0; i < 2; i++) {
    plag_match match = {.offset = offsets[i]};
    const double both = correlate(one, other, overlap_of(one, other, offsets[i]), &match);
    if (fabs(both) > most) {
      most = fabs(both);
      best = match;
    }
  }
  const overlap over = overlap_of(one, other, best.offset);
  const size_t shorter = one->count < other->count ? one->count : other->count;
  best.share = shorter > 0 ? (double)(over.to - over.from) / (double)shorter : 0;
  best.scale = NAN;
  if (plag_match_is_likeness(&best))
    fit_scale(one_value, other_value, over, &best);
  return best;
}

bool plag_match_is_likeness(const plag_match *match) {
  const double size = fabs(match->correlation);
  /* What is turned over in the noise is turned over in the moves. */
  const bool agrees = !(match->correlation * match->scale < 0);
  return agrees && match->samples >= PLAG_LIVELY_LEAST && size >= CORRELATION_LEAST &&
         size * sqrt((double)match->samples) >= CHANCE_SD;
}
