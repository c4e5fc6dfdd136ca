/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A short to ground, an open supply or an open wire with a pull-down: pinned low. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_motionless(expected);
  expected->low_share = (plag_proportion){0.93, 8};
  expected->air = PLAG_ANSWER_YES;
  expected->current = PLAG_ANSWER_YES;
  expected->sweep_smooth = 0.02;
  expected->meter_reference_bad = (plag_proportion){0.15, 1.5};
  expected->meter_agrees = 0.5;
}

const plag_hypothesis plag_hypothesis_shorted_low = {
    .name = "shorted low",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_LOW,
    .group = PLAG_GROUP_LOW,
    .expect = expect,
};
