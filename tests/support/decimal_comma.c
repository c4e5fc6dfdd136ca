/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/decimal_comma.h"

#include <locale.h>
#include <stdlib.h>

#include "support/check.h"

void plag_test_decimal_comma_begin(void) {
  (void)setenv("LOCPATH", PLATELAG_TEST_LOCALES, 1); /* where glibc looks first */
  if (setlocale(LC_ALL, "de_DE.UTF-8") == NULL)
    fail_msg("no locale with a decimal comma in %s: install Debian's locales, configure again",
             PLATELAG_TEST_LOCALES);
  assert_string_equal(localeconv()->decimal_point, ",");
}

void plag_test_decimal_comma_end(void) {
  (void)setlocale(LC_ALL, "C");
}
