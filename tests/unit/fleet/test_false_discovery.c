/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Adjusted p values agree with their definition and with a published table, and hold false calls
 * down. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fleet/false_discovery.h"
#include "support/check.h"
#include "support/made_random.h"

enum { MOST = 40 };

/* q of p[i]: the smallest, over all p that are as large or larger, of p times how many there are
 * over how many are no larger. */
static double by_definition(const double *p, size_t count, size_t index) {
  double known = 0.0;
  double least = 1.0;
  for (size_t i = 0; i < count; i++)
    known += !isnan(p[i]);
  for (size_t j = 0; j < count; j++) {
    double no_larger = 0.0;
    for (size_t i = 0; i < count; i++)
      no_larger += p[i] <= p[j];
    if (p[j] >= p[index])
      least = fmin(least, p[j] * known / no_larger);
  }
  return least;
}

static void agrees_with_the_definition(void **state) {
  (void)state;
  plag_test_random random = {plag_test_seed(31187)};
  for (int round = 0; round < 500; round++) {
    double p[MOST] = {0}, q[MOST];
    size_t order[MOST];
    const size_t count = (size_t)(plag_test_random_bits(&random) % (MOST + 1));
    for (size_t i = 0; i < count; i++) {
      p[i] = floor(plag_test_random_uniform(&random, 0.0, 31.0)) / 30.0; /* with ties */
      p[i] = p[i] > 0.9 ? NAN : p[i] * p[i];
    }
    memcpy(q, p, sizeof q);
    plag_false_discovery(q, count, order);
    for (size_t i = 0; i < count; i++)
      assert_close(q[i], isnan(p[i]) ? NAN : by_definition(p, count, i), 1e-12, 0);
  }
}

/* Benjamini and Hochberg (1995), section 4.1: 15 comparisons, of which at 5 % the four smallest are
 * called; from memory. */
static void calls_what_the_published_example_calls(void **state) {
  (void)state;
  double p[] = {0.0459, 0.0001, 0.6528, 0.0004, 0.0201, 0.0019, 0.0278, 0.0298,
                0.0344, 0.0095, 0.3240, 0.4262, 0.5719, 0.7590, 1.0000};
  size_t order[15];
  plag_false_discovery(p, 15, order);
  static const size_t called[] = {1, 3, 5, 9};
  size_t count = 0;
  for (size_t i = 0; i < 15; i++)
    count += p[i] <= 0.05;
  assert_int_equal(count, 4);
  for (size_t k = 0; k < 4; k++)
    assert_true(p[called[k]] <= 0.05);
  assert_close(p[9], 0.0095 * 15.0 / 4.0, 1e-12, 0);
  assert_close(p[14], 1.0, 0, 0);
}

/* 50 of 400 vehicles drift: of those called at 5 % no more than 5 % are others, on average. */
static void false_calls_are_held_down(void **state) {
  (void)state;
  plag_test_random random = {plag_test_seed(90173)};
  double shares = 0.0;
  double found = 0.0;
  for (int round = 0; round < 200; round++) {
    double p[400];
    size_t order[400];
    for (size_t i = 0; i < 400; i++)
      p[i] = 0.5 * erfc((plag_test_random_normal(&random) + (i < 50 ? 3.1 : 0.0)) / sqrt(2.0));
    plag_false_discovery(p, 400, order);
    double called = 0.0;
    double wrong = 0.0;
    for (size_t i = 0; i < 400; i++) {
      called += p[i] <= 0.05;
      wrong += p[i] <= 0.05 && i >= 50;
    }
    shares += called > 0.0 ? wrong / called : 0.0;
    found += (called - wrong) / 50.0;
  }
  print_message("false among the called %.2f %%, found %.1f %%\n", shares / 2.0, found / 2.0);
  assert_between(shares / 200.0, 0.03, 0.05);
  assert_between(found / 200.0, 0.6, 1.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(agrees_with_the_definition),
      cmocka_unit_test(calls_what_the_published_example_calls),
      cmocka_unit_test(false_calls_are_held_down),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
