/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The actuator is not driven or dead: the spring holds the plates at rest. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_motionless(expected);
  expected->at_rest = 0.97;
  expected->air = PLAG_ANSWER_NO;
  expected->current = PLAG_ANSWER_NO;
}

const plag_hypothesis plag_hypothesis_no_drive = {
    .name = "no drive",
    .family = PLATELAG_FAMILY_DRIVE,
    .finding = PLATELAG_FINDING_STILL,
    .group = PLAG_GROUP_STILL,
    .expect = expect,
};
