/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A worn spot of the track: readings are lost at one voltage, only while the wiper passes it. */
#include <math.h>

#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  plag_expectation_interrupted(expected);
  /* Plates in motion are last seen up to a sample's way before the spot. */
  expected->void_place_sd_pct = hypot(5, facts->fact[PLAG_FEATURE_VOID_PLACE].count);
  expected->void_moving = (plag_proportion){0.85, 5};
  expected->sag = (plag_proportion){0.05, 8};
  expected->sweep_smooth = 0.1;
}

const plag_hypothesis plag_hypothesis_worn_spot = {
    .name = "worn spot",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_ERRATIC,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
