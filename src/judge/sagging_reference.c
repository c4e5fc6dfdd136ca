/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sensor's reference sags now and then, as when another sensor on it shorts: the reading goes
 * along, whatever the plates do. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_interrupted(expected);
  expected->dropouts = (plag_rate){1, 0.4};
  expected->reference_dips = (plag_proportion){0.15, 3};
  expected->sag = (plag_proportion){0.8, 3};
  expected->away_leaps = (plag_rate){2, 1};
  expected->held =
      (plag_rate){0.3, 0.3}; /* a reading that is pulled away is not where it is asked */
  expected->held_leapt = (plag_chance){6, 2};
  expected->stops = PLAG_STOPS_HALTED;
  expected->moved = (plag_proportion){0.8, 3};
  expected->meter_reference_bad = (plag_proportion){0.5, 2};
}

const plag_hypothesis plag_hypothesis_sagging_reference = {
    .name = "sagging reference",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_ERRATIC,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
