/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sensor turned on its shaft or a ground offset: both stops read off by the same. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->stops = PLAG_STOPS_OFFSET;
  expected->meter_ground_bad = (plag_proportion){0.4, 2};
}

const plag_hypothesis plag_hypothesis_shift = {
    .name = "shifted signal",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_SHIFTED,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
