/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * exp() and what goes with it, in a third of the time: the model's walks and integrals are made of
 * little else. No rounding mode, no exceptions, no errno. */
#ifndef PLAG_CORE_EXPONENTIAL_H
#define PLAG_CORE_EXPONENTIAL_H

#include <math.h>
#include <stdint.h>
#include <string.h>

/* 2^(i / 32) */
extern const double plag_exponential_root[32];

/* exp(x), within 3e-15 of it.
 * x = (32 n + i) ln 2 / 32 + rest: exp(x) = 2^n root[i] exp(rest), the last by its Taylor series.
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

/* ln(x) of a normal positive number, within 3e-11: for likelihoods.
 * x = 2^n m, m within a root of 2 of 1: ln m = 2 artanh((m - 1) / (m + 1)), by its series. */
static inline double plag_log(double x) {
  const uint64_t root_half = UINT64_C(0x3fe6a09e667f3bcd);
  uint64_t bits;
  memcpy(&bits, &x, sizeof bits);
  const int64_t power = (int64_t)(bits - root_half) >> 52;
  bits -= (uint64_t)power << 52;
  double m;
  memcpy(&m, &bits, sizeof m);
  const double s = (m - 1.0) / (m + 1.0);
  const double z = s * s;
  const double tail =
      z * (1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * (1.0 / 9.0 + z / 11.0))));
  return 0x1.62e42fefa39efp-1 * (double)power + 2.0 * (s + s * tail);
}

/* Mills' ratio, the normal distribution's part beyond z >= 0 over its height there, within 1 in
 * 1e7: a polynomial in 4 / (4 + z) through its values at Chebyshev's points. */
static inline double plag_mills(double z) {
  static const double c[10] = {
      0.24999997727993473,  0.2500045787775097,  0.23421812953869553,  0.2052668663840523,
      0.14399641517672748,  0.17113752813123972, -0.09963061155280326, 0.26018515114883817,
      -0.21403905811285706, 0.05217518780522852,
  };
  const double t = 4.0 / (4.0 + z);
  double sum = c[9];
  for (int i = 8; i >= 0; i--)
    sum = sum * t + c[i];
  return sum * t;
}

#endif
