/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plates forced past their open stop and jammed: the track still reads there, a little below the
 * rail and with live noise (methods, section 4). */
#include "judge/hypothesis.h"

static void expect(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_motionless(expected);
  expected->high_share = (plag_proportion){0.95, 12};
  expected->high_level_pct = (plag_level){93, 1.7};
  expected->high_dither = 0.85;
  expected->air = PLAG_ANSWER_NO;
  expected->current = PLAG_ANSWER_YES;
}

const plag_hypothesis plag_hypothesis_jam_past_stop = {
    .name = "jam past a stop",
    .family = PLATELAG_FAMILY_MECHANICAL,
    .finding = PLATELAG_FINDING_SIGNAL_HIGH,
    .group = PLAG_GROUP_HIGH,
    .expect = expect,
};
