/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A reference that is too low or too high, or a resistance in the line: both stops read off in
 * proportion to their volts. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->stops = PLAG_STOPS_SCALED;
  expected->moved = (plag_proportion){0.7, 5};
  expected->meter_reference_bad = (plag_proportion){0.6, 3};
  expected->meter_ground_bad = (plag_proportion){0.2, 2};
}

const plag_hypothesis plag_hypothesis_scaled_span = {
    .name = "scaled span",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_SHIFTED,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
