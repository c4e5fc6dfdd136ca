/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sensor that drifts as it warms: what the stops read moves with time, both alike. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->trend_pct = 18;
  expected->stops = PLAG_STOPS_OFFSET;
  /* One map for the whole record fits none of it, so plates seem to be held anywhere. */
  expected->held = (plag_rate){0.3, 0.3};
  expected->stick_band = PLAG_SIDE_EITHER;
  expected->t63 = PLAG_SIDE_EITHER;
  expected->meter_ground_bad = (plag_proportion){0.2, 2};
}

const plag_hypothesis plag_hypothesis_drifting_signal = {
    .name = "drifting signal",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_SHIFTED,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
