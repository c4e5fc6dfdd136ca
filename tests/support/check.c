/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <math.h>
#include <stdio.h>

void plag_test_assert_close(double actual, double expected, double relative, double absolute,
                            const char *what, const char *file, int line) {
  if (isnan(actual) && isnan(expected))
    return;
  if (actual == expected || fabs(actual - expected) <= absolute + relative * fabs(expected))
    return;
  (void)fprintf(stderr, "%s is %.17g, expected %.17g (relative %g, absolute %g)\n", what, actual,
                expected, relative, absolute);
  _fail(file, line);
}

void plag_test_assert_between(double actual, double low, double high, const char *what,
                              const char *file, int line) {
  if (actual >= low && actual <= high)
    return;
  (void)fprintf(stderr, "%s is %.17g, expected within %.17g .. %.17g\n", what, actual, low, high);
  _fail(file, line);
}
