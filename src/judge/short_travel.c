/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A deposit at one stop: the plates move freely but end short there. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->stops = PLAG_STOPS_ONE_SHORT;
  expected->moved = (plag_proportion){0.65, 5};
  expected->held = (plag_rate){0.05, 0.3}; /* standing at a false stop can look like holding */
  expected->stick_band = PLAG_SIDE_EITHER;
}

const plag_hypothesis plag_hypothesis_short_travel = {
    .name = "stop deposit",
    .family = PLATELAG_FAMILY_MECHANICAL,
    .finding = PLATELAG_FINDING_SHORT_TRAVEL,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
