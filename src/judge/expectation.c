/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/expectation.h"

void plag_expectation_healthy(plag_expectation *expected) {
  *expected = (plag_expectation){
      .high_share = {0.01, 50},
      .low_share = {0.01, 50},
      .high_dither = -1,
      .dropouts = {0.01, 0.5},
      .frozen_share = {0.01, 50},
      .noise = {-0.5, 0.33},    /* 0.3 % of travel, a factor of 2 either way */
      .jump_direction = {9, 1}, /* methods, section 4: plates jump where they are pulled */
      .jump_unasked = {1, 9},
      .void_moving = {0, 0},
      .sag = {0.05, 8},
      .reference_dips = {0.001, 300},
      .away_leaps = {0.02, 0.5},
      .trend_pct = 1.5,
      .moved = {0.85, 6},
      .at_rest = 0.4, /* plates jam where they stand most of the time */
      .still_dither = 0.7,
      .held = {0.003, 1},
      .held_leapt = {1, 9},
      .effort_pct = {0, 3},
      .t63 = PLAG_SIDE_BELOW,
      .stick_band = PLAG_SIDE_BELOW,
      .t63_ratio = {0, 0.4},
      .stops = PLAG_STOPS_RIGHT,
      .description = PLAG_DESCRIPTION_FREE,
      .lag_supply = {0, 0.3},
      .sweep_smooth = 0.97,
      .meter_reference_bad = {0.03, 12},
      .meter_ground_bad = {0.03, 12},
      .meter_agrees = 0.97,
  };
}

void plag_expectation_motionless(plag_expectation *expected) {
  plag_expectation_healthy(expected);
  expected->moved = (plag_proportion){0.01, 60};
  expected->held = (plag_rate){0, 0};
  expected->t63 = PLAG_SIDE_EITHER;
  expected->stick_band = PLAG_SIDE_EITHER;
  expected->t63_ratio = (plag_level){0, 0};
  expected->stops = PLAG_STOPS_ANYWHERE;
  expected->description = PLAG_DESCRIPTION_CONSTANT;
}

void plag_expectation_interrupted(plag_expectation *expected) {
  plag_expectation_healthy(expected);
  expected->high_share = (plag_proportion){0.05, 10};
  expected->low_share = (plag_proportion){0.05, 10};
  expected->dropouts = (plag_rate){3, 0.6};
  expected->jump_direction = (plag_chance){0, 0};
  expected->jump_unasked = (plag_chance){2, 2};
  expected->sag = (plag_proportion){0.3, 2};
  expected->away_leaps = (plag_rate){0.5, 0.4};
  /* Readings that were lost blur what is left, so little is said of the movement. */
  expected->held = (plag_rate){0.02, 0.5};
  expected->held_leapt = (plag_chance){2, 2};
  expected->t63 = PLAG_SIDE_EITHER;
  expected->stick_band = PLAG_SIDE_EITHER;
  expected->t63_ratio = (plag_level){0, 0.8};
  expected->sweep_smooth = 0.4;
  expected->meter_agrees = 0.6;
}
