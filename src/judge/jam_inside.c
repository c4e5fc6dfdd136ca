/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seized plates: they stand anywhere, the sensor goes on reading, the drive pulls in vain. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_motionless(expected);
  expected->air = PLAG_ANSWER_NO;
  expected->current = PLAG_ANSWER_YES;
}

const plag_hypothesis plag_hypothesis_jam_inside = {
    .name = "jam inside the travel",
    .family = PLATELAG_FAMILY_MECHANICAL,
    .finding = PLATELAG_FINDING_STILL,
    .group = PLAG_GROUP_STILL,
    .expect = expect,
};
