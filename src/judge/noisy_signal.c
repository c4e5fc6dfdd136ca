/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Noise several times that of a healthy line: a bad ground, a chafed shield. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->dropouts = (plag_rate){0.5, 0.3};
  expected->away_leaps = (plag_rate){3, 0.3};
  expected->jump_direction = (plag_chance){0, 0};
  expected->jump_unasked = (plag_chance){2, 2};
  expected->held = (plag_rate){0.02, 0.5};
  expected->sweep_smooth = 0.5;
  expected->meter_ground_bad = (plag_proportion){0.3, 2};
  expected->noise = (plag_level){0.7, 0.35}; /* 5 % of travel, a factor of 2 either way */
  expected->still_dither = 0.98;
}

const plag_hypothesis plag_hypothesis_noisy_signal = {
    .name = "noisy signal",
    .family = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    .finding = PLATELAG_FINDING_SIGNAL_ERRATIC,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
