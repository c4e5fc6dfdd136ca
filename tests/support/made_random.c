/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_random.h"

#include <math.h>
#include <stdlib.h>

uint64_t plag_test_seed(uint64_t own) {
  const char *other = getenv("PLATELAG_TUNING_SEED");
  return other == NULL ? own : own + 1000003 * strtoull(other, NULL, 10);
}

uint64_t plag_test_random_bits(plag_test_random *random) {
  random->state += 0x9e3779b97f4a7c15u;
  uint64_t mixed = random->state;
  mixed = (mixed ^ (mixed >> 30)) * 0xbf58476d1ce4e5b9u;
  mixed = (mixed ^ (mixed >> 27)) * 0x94d049bb133111ebu;
  return mixed ^ (mixed >> 31);
}

double plag_test_random_uniform(plag_test_random *random, double low, double high) {
  return low + (high - low) * (double)(plag_test_random_bits(random) >> 11) * 0x1p-53;
}

double plag_test_random_normal(plag_test_random *random) {
  const double radius = sqrt(-2.0 * log(1.0 - plag_test_random_uniform(random, 0.0, 1.0)));
  return radius * cos(6.283185307179586 * plag_test_random_uniform(random, 0.0, 1.0));
}
