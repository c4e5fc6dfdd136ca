/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drive too weak to reach its end against the spring. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->t63 = PLAG_SIDE_EITHER;
  expected->t63_ratio = (plag_level){0.5, 0.5};
  expected->lag_supply = (plag_level){-0.4, 0.3};
  expected->moved = (plag_proportion){0.6, 5};
  expected->stops = PLAG_STOPS_DRIVEN_SHORT;
  expected->stick_band = PLAG_SIDE_EITHER;
}

const plag_hypothesis plag_hypothesis_weak_drive_short = {
    .name = "weak drive, short",
    .family = PLATELAG_FAMILY_DRIVE,
    .finding = PLATELAG_FINDING_SHORT_TRAVEL,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
