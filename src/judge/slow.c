/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Viscous deposits or a tight linkage: the plates follow without holding, but late. */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
  expected->t63 = PLAG_SIDE_ABOVE;
  expected->t63_ratio = (plag_level){0, 0.5};
  expected->moved = (plag_proportion){0.82, 6};
  expected->held = (plag_rate){0.006, 1};
  expected->lag_supply = (plag_level){0, 0.3};
}

const plag_hypothesis plag_hypothesis_slow = {
    .name = "slow",
    .family = PLATELAG_FAMILY_MECHANICAL,
    .finding = PLATELAG_FINDING_SLOW,
    .group = PLAG_GROUP_MOVING,
    .expect = expect,
};
