/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/false_discovery.h"

#include <math.h>

/* Lets order[root] sink to where no larger p stands below it. */
static void sink(const double *p, size_t *order, size_t root, size_t count) {
  for (size_t child = 2 * root + 1; child < count; child = 2 * root + 1) {
    if (child + 1 < count && p[order[child]] < p[order[child + 1]])
      child++;
    if (!(p[order[root]] < p[order[child]]))
      return;
    const size_t kept = order[root];
    order[root] = order[child];
    order[child] = kept;
    root = child;
  }
}

/* Heap sort, smaller p first: the standard qsort knows no context. */
static void sort(const double *p, size_t *order, size_t count) {
  for (size_t i = count / 2; i > 0; i--)
    sink(p, order, i - 1, count);
  for (size_t end = count; end > 1; end--) {
    const size_t largest = order[0];
    order[0] = order[end - 1];
    order[end - 1] = largest;
    sink(p, order, 0, end - 1);
  }
}

void plag_false_discovery(double *p, size_t count, size_t *order) {
  size_t known = 0;
  for (size_t i = 0; i < count; i++)
    if (!isnan(p[i]))
      order[known++] = i;
  sort(p, order, known);
  double least = 1.0;
  for (size_t rank = known; rank > 0; rank--) {
    double *here = &p[order[rank - 1]];
    least = fmin(least, *here * (double)known / (double)rank);
    *here = least;
  }
}
