/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values lean on their family by how little they know themselves, and are nearer to the truth for
 * it. */
#include <math.h>
#include <string.h>

#include "fleet/shrink.h"
#include "support/check.h"
#include "support/made_random.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* By hand. Three of variance 1 at 0, 3, 9: mean 4, Q = 42, between = (42 - 2) / (3 - 1) = 20, so
 * 20/21 of each distance is left. Where the misfit is within chance all take the mean; values
 * without variance stay; one without knowledge takes the mean. */
static const struct shrunk {
  size_t count;
  double value[4], variance[4], expected[4];
} SHRUNK[] = {
    {3, {0, 3, 9}, {1, 1, 1}, {4 - 4 * 20.0 / 21, 4 - 1 * 20.0 / 21, 4 + 5 * 20.0 / 21}},
    {3, {2.7, 3.1, 3.2}, {1, 1, 1}, {3, 3, 3}},
    {2, {2.7, 3.7}, {1, 4}, {2.9, 2.9}},
    {4,
     {0, 3, 9, NAN},
     {1, 1, 1, 1},
     {4 - 4 * 20.0 / 21, 4 - 1 * 20.0 / 21, 4 + 5 * 20.0 / 21, NAN}},
    {4,
     {0, 3, 77, 9},
     {1, 1, NAN, 1},
     {4 - 4 * 20.0 / 21, 4 - 1 * 20.0 / 21, 77, 4 + 5 * 20.0 / 21}},
    {4,
     {0, 3, 77, 9},
     {1, 1, INFINITY, 1},
     {4 - 4 * 20.0 / 21, 4 - 1 * 20.0 / 21, 4, 4 + 5 * 20.0 / 21}},
    {3, {1.3, 2.9, 8.4}, {0, 0, 0}, {1.3, 2.9, 8.4}},
    {1, {6.17}, {2.2}, {6.17}},
    {2, {6.17, 3.3}, {INFINITY, INFINITY}, {6.17, 3.3}},
    {3, {2.0, 2.4, 9.0}, {0, 0, INFINITY}, {2.0, 2.4, 2.2}},
    {0, {0}, {0}, {0}},
};

static void agrees_with_hand_calculation(void **state) {
  (void)state;
  for (size_t k = 0; k < COUNT(SHRUNK); k++) {
    double value[4];
    memcpy(value, SHRUNK[k].value, sizeof value);
    plag_shrink(value, SHRUNK[k].variance, SHRUNK[k].count);
    for (size_t i = 0; i < SHRUNK[k].count; i++)
      assert_close(value[i], SHRUNK[k].expected[i], 1e-9, 0);
  }
}

/* An exact value counts and stays; what is known badly moves more than what is known well. */
static void own_knowledge_decides_how_far(void **state) {
  (void)state;
  double value[] = {4.12, 7.31, 7.31, 1.87, 5.44};
  const double variance[] = {0.0, 0.3, 6.4, 1.1, 0.7};
  plag_shrink(value, variance, 5);
  assert_close(value[0], 4.12, 0, 0);
  assert_true(value[2] < value[1] && value[1] < 7.31);
  assert_true(value[3] > 1.87);
}

/* 60 vehicles that differ by 0.8, measured with deviations from 0.3 to 2.4: the error's square is
 * near what the truth's own family would give (sum of 1 / (1 / 0.64 + 1 / variance)). */
static void nearer_to_the_truth(void **state) {
  (void)state;
  plag_test_random random = {plag_test_seed(66413)};
  double raw = 0.0;
  double shrunk = 0.0;
  double best = 0.0;
  for (int round = 0; round < 300; round++) {
    double truth[60], value[60], variance[60];
    for (size_t i = 0; i < 60; i++) {
      const double deviation = 0.3 * exp(plag_test_random_uniform(&random, 0.0, 2.08));
      truth[i] = 5.3 + 0.8 * plag_test_random_normal(&random);
      value[i] = truth[i] + deviation * plag_test_random_normal(&random);
      variance[i] = deviation * deviation;
      raw += (value[i] - truth[i]) * (value[i] - truth[i]);
      best += 1.0 / (1.0 / 0.64 + 1.0 / variance[i]);
    }
    plag_shrink(value, variance, 60);
    for (size_t i = 0; i < 60; i++)
      shrunk += (value[i] - truth[i]) * (value[i] - truth[i]);
  }
  print_message("mean squared error: raw %.3f, shrunk %.3f, best %.3f\n", raw / 18000.0,
                shrunk / 18000.0, best / 18000.0);
  assert_between(shrunk / best, 0.95, 1.12);
  assert_true(shrunk < 0.3 * raw);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(agrees_with_hand_calculation),
      cmocka_unit_test(own_knowledge_decides_how_far),
      cmocka_unit_test(nearer_to_the_truth),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
