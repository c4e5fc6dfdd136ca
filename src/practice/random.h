/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Random numbers that are the same on every machine: no libm, no state but the caller's. */
#ifndef PLAG_PRACTICE_RANDOM_H
#define PLAG_PRACTICE_RANDOM_H

#include <stdbool.h>
#include <stdint.h>

/* SplitMix64: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014. */
typedef struct plag_random {
  uint64_t state;
} plag_random;

/* What draws from which stream; a change in one part leaves the draws of all others as they were.
 */
typedef enum plag_random_stream {
  PLAG_STREAM_VEHICLE,
  PLAG_STREAM_FAULT,
  PLAG_STREAM_DRIVER,
  PLAG_STREAM_GAS,
  PLAG_STREAM_LINE,
  PLAG_STREAM_RECORDER,
  PLAG_STREAM_COUNT
} plag_random_stream;

/* The stream of a seed; `part` tells valves and conditions apart. */
plag_random plag_random_start(uint64_t seed, plag_random_stream stream, uint64_t part);

uint64_t plag_random_bits(plag_random *random);
/* 0 <= value < 1. */
double plag_random_uniform(plag_random *random);
double plag_random_between(plag_random *random, double low, double high);
bool plag_random_chance(plag_random *random, double probability);
/* 0 .. count - 1. */
unsigned plag_random_below(plag_random *random, unsigned count);

/* Mean 0, sd 1: the sum of eight uniforms, which needs no libm. Its excess kurtosis is -0.15 and it
 * ends at +-4.9 sd: enough for noise, not for a study of tails. */
double plag_random_normal(plag_random *random);

#endif
