/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What every test includes: cmocka with the headers it wants first, and comparisons of doubles. */
#ifndef PLATELAG_TESTS_CHECK_H
#define PLATELAG_TESTS_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Fails unless `actual` is within `absolute` + `relative` * |expected| of `expected`; NaN equals
 * NaN only. */
#define assert_close(actual, expected, relative, absolute)                                         \
  plag_test_assert_close((actual), (expected), (relative), (absolute), #actual, __FILE__, __LINE__)

/* Fails unless `low` <= `actual` <= `high`. */
#define assert_between(actual, low, high)                                                          \
  plag_test_assert_between((actual), (low), (high), #actual, __FILE__, __LINE__)

void plag_test_assert_close(double actual, double expected, double relative, double absolute,
                            const char *what, const char *file, int line);
void plag_test_assert_between(double actual, double low, double high, const char *what,
                              const char *file, int line);

#endif
