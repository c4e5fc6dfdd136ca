/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Carbon along the shaft, and a contact that is lost now and then beside it: the carbon leads. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  plag_hypothesis_friction.expect(facts, expected);
  expected->dropouts = (plag_rate){5, 2};
  expected->high_share = (plag_proportion){0.03, 15};
  expected->low_share = (plag_proportion){0.03, 15};
  expected->void_place_sd_pct = 30;
  expected->void_moving = (plag_proportion){0.3, 3};
  expected->jump_direction = (plag_chance){4, 1};
  expected->jump_unasked = (plag_chance){1, 3};
  expected->away_leaps = (plag_rate){0.5, 0.4};
  expected->sweep_smooth = 0.5;
  expected->meter_agrees = 0.7;
}

const plag_hypothesis plag_hypothesis_friction_and_dropouts = {
    .name = "friction, dropouts beside",
    .family = PLATELAG_FAMILY_MECHANICAL,
    .finding = PLATELAG_FINDING_STICKING,
    .group = PLAG_GROUP_MIXED,
    .expect = expect,
};
