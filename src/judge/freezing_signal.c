/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The reading freezes for a while now and then, and comes back where the plates have gone. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_interrupted(expected);
  expected->frozen_share = (plag_proportion){0.4, 3};
  expected->dropouts = (plag_rate){0.5, 0.4};
  expected->held = (plag_rate){0.1, 0.4};
  expected->moved = (plag_proportion){0.7, 3};
}

const plag_hypothesis plag_hypothesis_freezing_signal = {
    .name = "freezing signal",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_ERRATIC,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
