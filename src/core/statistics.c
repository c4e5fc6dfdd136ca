/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/statistics.h"

#include <math.h>

static void swap(double *a, double *b) {
  const double kept = *a;
  *a = *b;
  *b = kept;
}

static double median_of_three(double a, double b, double c) {
  return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/* Hoare's selection: afterwards value[rank] is what sorting would put there, smaller ones before it
 * and larger ones behind. */
static double select_rank(double *value, size_t count, size_t rank) {
  size_t low = 0;
  size_t high = count - 1;
  while (low < high) {
    const double pivot = median_of_three(value[low], value[low + (high - low) / 2], value[high]);
    size_t left = low;
    size_t right = high;
    while (left <= right) {
      while (value[left] < pivot)
        left++;
      while (value[right] > pivot)
        right--;
      if (left <= right) {
        swap(&value[left], &value[right]);
        left++;
        if (right == 0)
          break;
        right--;
      }
    }
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
  const double here = select_rank(value, count, rank);
  if (rank + 1 >= count || place == (double)rank)
    return here;
  double next = value[rank + 1];
  for (size_t i = rank + 2; i < count; i++)
    next = fmin(next, value[i]);
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
