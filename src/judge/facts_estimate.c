/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What an interval says of a limit. */
#include "judge/facts.h"

#include <math.h>

#include "judge/facts_parts.h"

/* Relative error of a lag or band below which an interval is not believed. */
#define LOG_SD_LEAST 0.04
/* Half of a 90 % interval of a normal quantity in standard deviations. */
#define Z90 1.6448536269514722

static double share_above(double low, double high, double limit) {
  if (low > limit)
    return 1.0;
  if (!(high > low))
    return 0.0;
  /* What is only bounded may as well lie well below the bound as near to it. */
  return fmin(fmax((high - limit) / (high - low), 0.0), 0.5);
}

double plag_facts_above(const platelag_estimate *estimate, double limit) {
  switch (estimate->known) {
  case PLATELAG_KNOWN_VALUE: {
    const double value = fmax(estimate->value, 1e-3);
    const double low = fmax(estimate->low, 1e-3);
    const double below_sd = (log(value) - log(low)) / Z90;
    const double above_sd =
        isfinite(estimate->high) ? (log(fmax(estimate->high, value)) - log(value)) / Z90 : 1.0;
    const double z = log(value) - log(limit);
    const double sd = fmax(z > 0 ? below_sd : above_sd, LOG_SD_LEAST);
    return 0.5 * erfc(-z / sd * 0.70710678118654752440);
  }
  case PLATELAG_KNOWN_UPPER_LIMIT: {
    const double low = isfinite(estimate->low) ? fmax(estimate->low, 0) : 0;
    return isfinite(estimate->high) ? share_above(low, estimate->high, limit) : 0.5;
  }
  case PLATELAG_KNOWN_BRACKET:
    return isfinite(estimate->high) ? share_above(estimate->low, estimate->high, limit)
                                    : (estimate->low > limit ? 1.0 : 0.5);
  case PLATELAG_KNOWN_LOWER_LIMIT:
    return estimate->low > limit ? 1.0 : 0.5;
  case PLATELAG_KNOWN_NOTHING:
    break;
  }
  return 0.5;
}

double plag_facts_central(const platelag_estimate *estimate) {
  if (estimate->known == PLATELAG_KNOWN_VALUE)
    return estimate->value;
  if (estimate->known == PLATELAG_KNOWN_LOWER_LIMIT)
    return estimate->low;
  return isfinite(estimate->high) ? estimate->high : estimate->low;
}

const platelag_estimate *plag_facts_slower(const platelag_lag *lag) {
  const platelag_estimate *opening = &lag->opening_t63_s;
  const platelag_estimate *closing = &lag->closing_t63_s;
  if (opening->known == PLATELAG_KNOWN_NOTHING)
    return closing->known == PLATELAG_KNOWN_NOTHING ? NULL : closing;
  if (closing->known == PLATELAG_KNOWN_NOTHING)
    return opening;
  return plag_facts_central(closing) > plag_facts_central(opening) ? closing : opening;
}
