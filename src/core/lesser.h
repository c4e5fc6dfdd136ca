/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * fmin and fmax where there are many of them: as functions of the C library they are calls. */
#ifndef PLAG_CORE_LESSER_H
#define PLAG_CORE_LESSER_H

#include <math.h>

/* The lesser of two; the other one where one is NaN. */
static inline double plag_lesser(double a, double b) {
  return a < b || isnan(b) ? a : b;
}

/* The greater of two; the other one where one is NaN. */
static inline double plag_greater(double a, double b) {
  return a > b || isnan(b) ? a : b;
}

#endif
