/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A carbon ridge holds the plates at one place of the travel, both ways. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  plag_expectation_healthy(expected);
  /* A controller lets few of them last. */
  expected->held = facts->controlled  ? (plag_rate){0.1, 0.7}
                   : facts->two_level ? (plag_rate){0.1, 0.5}
                                      : (plag_rate){0.25, 0.7};
  expected->held_place_sd_pct = 5;
  expected->stick_band = PLAG_SIDE_EITHER; /* away from the ridge the plates are free */
  expected->t63 = 0.1;                     /* what lets go moves fast */
  expected->t63_ratio = (plag_level){0, 0.8};
  expected->description = facts->two_level ? PLAG_DESCRIPTION_FREE : PLAG_DESCRIPTION_FRICTION;
  expected->effort_pct = (plag_level){8, 8};
  expected->warm = (plag_level){0.15, 0.3};
  expected->moved = (plag_proportion){0.8, 4};
  expected->dropouts = (plag_rate){0.1, 0.4};
  expected->away_leaps = (plag_rate){0.05, 0.4};
  expected->trend_pct = 3; /* it eases with heat */
  expected->stops = PLAG_STOPS_HALTED;
}

const plag_hypothesis plag_hypothesis_ridge = {
    .name = "ridge",
    .family = PLATELAG_FAMILY_MECHANICAL,
    .finding = PLATELAG_FINDING_STICKING,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
