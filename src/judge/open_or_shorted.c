/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An open signal wire with a pull-up, an open sensor ground, or a short to the reference: pinned
 * at the rail. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_motionless(expected);
  expected->high_share = (plag_proportion){0.9, 6};
  expected->high_level_pct = (plag_level){98.8, 1.2};
  expected->high_dither = 0.25;
  expected->air = PLAG_ANSWER_YES; /* the plates go on moving unseen */
  expected->current = PLAG_ANSWER_YES;
  expected->sweep_smooth = 0.02;
  expected->meter_reference_bad = (plag_proportion){0.15, 1.5};
  expected->meter_ground_bad = (plag_proportion){0.15, 1.5};
  expected->meter_agrees = 0.5;
}

const plag_hypothesis plag_hypothesis_open_or_shorted = {
    .name = "open or shorted high",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_HIGH,
    .group = PLAG_GROUP_HIGH,
    .expect = expect,
};
