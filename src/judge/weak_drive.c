/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A weak actuator or low supply: slow where it is driven, and slower as the supply falls; the
 * spring brings the plates back in good time. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->t63 = PLAG_SIDE_ABOVE;
  expected->t63_ratio = (plag_level){1.0, 0.5};
  expected->lag_supply = (plag_level){-0.6, 0.25};
  expected->moved = (plag_proportion){0.82, 6};
}

const plag_hypothesis plag_hypothesis_weak_drive = {
    .name = "weak drive",
    .family = PLATELAG_FAMILY_DRIVE,
    .finding = PLATELAG_FINDING_SLOW,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
