/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/round_step.h"

#include <math.h>

double plag_round_step(double least) {
  const double power = pow(10, floor(log10(least)));
  const double share = least / power;
  return power * (share <= 1.0000001 ? 1 : share <= 2.0000001 ? 2 : share <= 5.0000001 ? 5 : 10);
}
