/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/statistics.h"

#include <math.h>

#include "core/lesser.h"

#define SAMPLE_FROM 600 /* fewer are parted as they are */

static void swap(double *a, double *b) {
  const double kept = *a;
  *a = *b;
  *b = kept;
}

/* Parts value[low..high] at `pivot`: from *left on none is less, up to *right none is more. */
static void part(double *value, size_t low, size_t high, double pivot, size_t *left,
                 size_t *right) {
  size_t i = low;
  size_t j = high;
  while (i <= j) {
    while (value[i] < pivot)
      i++;
    while (value[j] > pivot)
      j--;
    if (i <= j) {
      swap(&value[i], &value[j]);
      i++;
      if (j == 0)
        break;
      j--;
    }
  }
  *left = i;
  *right = j;
}

/* Selection after Floyd and Rivest (Communications of the ACM 18 (1975) 165-172): the pivot is what
 * a sample about the rank would put there, so that hardly more than one pass looks at everything.
 * Afterwards value[rank] is what sorting would put there, smaller ones before it and larger ones
 * behind. */
static double select_rank(double *value, size_t low, size_t high, size_t rank) {
  while (low < high) {
    if (high - low > SAMPLE_FROM) {
      const double count = (double)(high - low + 1);
      const double place = (double)(rank - low + 1);
      const double sampled = 0.5 * exp(2.0 * log(count) / 3.0);
      const double shift = 0.5 * sqrt(log(count) * sampled * (1.0 - sampled / count)) *
                           (place < 0.5 * count ? -1.0 : 1.0);
      const double from = (double)rank - place * sampled / count + shift;
      const double to = (double)rank + (count - place) * sampled / count + shift;
      const size_t first = from > (double)low ? (size_t)from : low;
      const size_t last = to < (double)high ? (size_t)to : high;
      (void)select_rank(value, first < rank ? first : rank, last > rank ? last : rank, rank);
    }
    size_t left;
    size_t right;
    part(value, low, high, value[rank], &left, &right);
    if (rank <= right)
      high = right;
    else if (rank >= left)
      low = left;
    else
      break;
  }
  return value[rank];
}

double plag_quantile(double *value, size_t count, double share) {
  if (count == 0)
    return NAN;
  const double place = share * (double)(count - 1);
  const size_t rank = (size_t)place;
  const double here = select_rank(value, 0, count - 1, rank);
  if (rank + 1 >= count || place == (double)rank)
    return here;
  double next = value[rank + 1];
  for (size_t i = rank + 2; i < count; i++)
    next = plag_lesser(next, value[i]);
  return here + (place - (double)rank) * (next - here);
}

double plag_median(double *value, size_t count) {
  return plag_quantile(value, count, 0.5);
}

double plag_median_deviation(double *value, size_t count) {
  const double middle = plag_median(value, count);
  for (size_t i = 0; i < count; i++)
    value[i] = fabs(value[i] - middle);
  return 1.4826 * plag_median(value, count);
}
