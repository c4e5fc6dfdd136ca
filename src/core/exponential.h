/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * exp(), within 3e-15 of it and in a third of the time: the model's walks and integrals are made of
 * little else. No rounding mode, no exceptions, no errno. */
#ifndef PLAG_CORE_EXPONENTIAL_H
#define PLAG_CORE_EXPONENTIAL_H

#include <math.h>
#include <stdint.h>
#include <string.h>

/* 2^(i / 32) */
extern const double plag_exponential_root[32];

/* x = (32 n + i) ln 2 / 32 + rest: exp(x) = 2^n root[i] exp(rest), the last by its Taylor series.
 * ln 2 / 32 in two parts, the first of so few bits that its multiples are exact. */
static inline double plag_exp(double x) {
  if (!(x > -700.0 && x < 700.0))
    return exp(x);
  const double nearest = 0x1.8p52; /* added and taken off: rounds to a whole number */
  const double whole = (x * 0x1.71547652b82fep+5 + nearest) - nearest;
  const double rest = (x - whole * 0x1.62e42fefp-6) - whole * 0x1.473de6af278edp-39;
  const int64_t steps = (int64_t)whole;
  const uint64_t bits = (uint64_t)(1023 + (steps >> 5)) << 52;
  double power;
  memcpy(&power, &bits, sizeof power);
  const double square = rest * rest;
  const double tail = (0.5 + rest * (1.0 / 6.0)) + square * (1.0 / 24.0 + rest * (1.0 / 120.0));
  return power * (plag_exponential_root[steps & 31] * (1.0 + (rest + square * tail)));
}

#endif
