/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ideal steps: what a ruler would measure on the plates themselves, without gas, noise or polling.
 */
#ifndef PLAG_PRACTICE_STEPS_H
#define PLAG_PRACTICE_STEPS_H

#include "practice/world.h"

/* From the change of the command until 63.2 % of the travel of that change is done, dead time
 * included; NaN where the plates move less than 2 % of the travel. */
typedef struct plag_step_truth {
  double low_pct, high_pct; /* the command before and after an opening */
  double opening_t63_s, closing_t63_s;
} plag_step_truth;

/* Steps a warm valve of `spoilt` parts between two commands, at the nominal supply. */
plag_step_truth plag_step_measure(const plag_valve_parts *healthy, const plag_valve_parts *spoilt,
                                  plag_control control, double low_pct, double high_pct);

#endif
