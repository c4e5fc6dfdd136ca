/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/random.h"

uint64_t plag_random_bits(plag_random *random) {
  uint64_t bits = random->state += UINT64_C(0x9E3779B97F4A7C15);
  bits = (bits ^ (bits >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
  bits = (bits ^ (bits >> 27)) * UINT64_C(0x94D049BB133111EB);
  return bits ^ (bits >> 31);
}

plag_random plag_random_start(uint64_t seed, plag_random_stream stream, uint64_t part) {
  plag_random random = {seed};
  const uint64_t mixed = plag_random_bits(&random);
  random.state = mixed ^ ((uint64_t)stream << 32) ^ part;
  random.state = plag_random_bits(&random);
  return random;
}

double plag_random_uniform(plag_random *random) {
  return (double)(plag_random_bits(random) >> 11) * 0x1p-53;
}

double plag_random_between(plag_random *random, double low, double high) {
  return low + (high - low) * plag_random_uniform(random);
}

bool plag_random_chance(plag_random *random, double probability) {
  return plag_random_uniform(random) < probability;
}

unsigned plag_random_below(plag_random *random, unsigned count) {
  return (unsigned)((plag_random_bits(random) >> 32) * count >> 32);
}

/* Sum of the four 16-bit numbers in `bits`. */
static unsigned sum_of_quarters(uint64_t bits) {
  return (unsigned)(bits & 0xFFFF) + (unsigned)(bits >> 16 & 0xFFFF) +
         (unsigned)(bits >> 32 & 0xFFFF) + (unsigned)(bits >> 48);
}

double plag_random_normal(plag_random *random) {
  const unsigned sum =
      sum_of_quarters(plag_random_bits(random)) + sum_of_quarters(plag_random_bits(random));
  const double mean = 8 * 32767.5;
  const double sd = 65536.0 * 0.81649658092772603; /* sqrt(8/12) */
  return ((double)sum - mean) / sd;
}
