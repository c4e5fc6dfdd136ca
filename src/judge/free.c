/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Nothing is wrong: the plates follow within the limits. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
}

const plag_hypothesis plag_hypothesis_free = {
    .name = "free",
    .family = PLATELAG_FAMILY_FREE,
    .finding = PLATELAG_FINDING_FREE,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
