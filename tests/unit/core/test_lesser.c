/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The lesser and the greater of two are what fmin and fmax of the C library say, NaN and infinities
 * included. */
#include "support/check.h"

#include <math.h>

#include "core/lesser.h"

static void they_are_fmin_and_fmax(void **state) {
  (void)state;
  static const double value[] = {NAN,    -INFINITY, -1.7e308,           -2.385,  -5e-324, 0.0,
                                 5e-324, 2.385,     2.3850000000000007, 1.7e308, INFINITY};
  enum { COUNT = sizeof value / sizeof value[0] };
  for (size_t i = 0; i < COUNT; i++)
    for (size_t k = 0; k < COUNT; k++) {
      assert_close(plag_lesser(value[i], value[k]), fmin(value[i], value[k]), 0.0, 0.0);
      assert_close(plag_greater(value[i], value[k]), fmax(value[i], value[k]), 0.0, 0.0);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(they_are_fmin_and_fmax),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
