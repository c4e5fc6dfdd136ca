/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The reading repeats to the last digit all along while the plates may move. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_motionless(expected);
  expected->frozen_share = (plag_proportion){0.5, 1.5};
  expected->still_dither = 0.02;
  expected->air = PLAG_ANSWER_YES;
  expected->current = PLAG_ANSWER_YES;
  expected->sweep_smooth = 0.05;
  expected->meter_agrees = 0.3;
}

const plag_hypothesis plag_hypothesis_frozen_signal = {
    .name = "frozen signal",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_STILL,
    .group = PLAG_GROUP_STILL,
    .expect = expect,
};
