/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A loose contact: the reading falls to a rail or anywhere for a moment, wherever the plates are.
 */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_interrupted(expected);
  expected->void_place_sd_pct = 30;
  expected->void_moving = (plag_proportion){0.3, 3};
}

const plag_hypothesis plag_hypothesis_dropouts = {
    .name = "dropouts",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_ERRATIC,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
