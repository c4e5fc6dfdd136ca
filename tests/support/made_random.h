/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Random numbers of our own, the same on every machine. */
#ifndef PLATELAG_TESTS_MADE_RANDOM_H
#define PLATELAG_TESTS_MADE_RANDOM_H

#include <stdint.h>

/* splitmix64 (Steele, Lea, Flood 2014): any seed will do. */
typedef struct plag_test_random {
  uint64_t state;
} plag_test_random;

/* The seed that a test runs with: its own, or another where PLATELAG_TUNING_SEED is set, since what
 * is tuned must be tuned on captures that no test looks at. */
uint64_t plag_test_seed(uint64_t own);

uint64_t plag_test_random_bits(plag_test_random *random);

/* Uniform in [low, high). */
double plag_test_random_uniform(plag_test_random *random, double low, double high);

/* Normal with mean 0 and sd 1, by Box and Muller's method. */
double plag_test_random_normal(plag_test_random *random);

#endif
