/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A free valve whose sensor drifts a little as it warms, within the tolerance. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->trend_pct = 12;
  expected->held = (plag_rate){0.05, 0.3};
  expected->stick_band = PLAG_SIDE_EITHER;
}

const plag_hypothesis plag_hypothesis_slight_drift = {
    .name = "slight drift",
    .family = PLATELAG_FAMILY_FREE,
    .finding = PLATELAG_FINDING_FREE,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
