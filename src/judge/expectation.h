/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a hypothesis expects of every fact: its generative description. A hypothesis starts from
 * the healthy valve and changes what its fault changes; scoring is the same for all. */
#ifndef PLAG_JUDGE_EXPECTATION_H
#define PLAG_JUDGE_EXPECTATION_H

#include "judge/density.h"
#include "judge/facts.h"

/* Where the settled ends are expected. */
typedef enum plag_stops {
  PLAG_STOPS_ANYWHERE,
  PLAG_STOPS_RIGHT,
  PLAG_STOPS_HALTED,       /* right, or anywhere that plates come to a halt */
  PLAG_STOPS_ONE_SHORT,    /* either end inward by the limit or more */
  PLAG_STOPS_DRIVEN_SHORT, /* the end that the drive pulls to */
  PLAG_STOPS_OFFSET,       /* both off the same way beyond the tolerance */
  PLAG_STOPS_SCALED        /* both off in proportion to their volts */
} plag_stops;

typedef enum plag_answer { PLAG_ANSWER_ANY, PLAG_ANSWER_YES, PLAG_ANSWER_NO } plag_answer;

typedef struct plag_expectation {
  plag_proportion high_share, low_share;
  plag_level high_level_pct; /* of reference */
  double high_dither;        /* chance that a rail reading still dithers; < 0: says nothing */
  plag_rate dropouts;        /* a minute */
  plag_proportion frozen_share;
  plag_level noise;           /* log10 of % of travel */
  plag_chance jump_direction; /* towards the command */
  plag_chance jump_unasked;   /* while the command had not moved */
  double void_place_sd_pct;
  plag_proportion void_moving;
  plag_proportion sag;
  plag_proportion reference_dips; /* share of the record with the reference down */
  plag_rate away_leaps;           /* a minute of rest */
  double trend_pct;               /* of levels over the record */
  plag_proportion moved;
  double at_rest; /* chance that plates which do not move stand at the spring's rest */
  double still_dither;
  plag_rate held; /* a move of the command */
  double held_place_sd_pct;
  plag_chance held_leapt; /* of the holds: began with a leap away from the command */
  plag_level effort_pct;  /* climb of the effort while held, the way they were pulled */
  plag_level warm;        /* share of held time cold less warm */
  double t63, stick_band; /* chance of being above the limit */
  plag_level t63_ratio;   /* log of driven over returning t63 */
  plag_stops stops;
  plag_description description;
  plag_answer air, current;
  plag_level lag_supply; /* correlation */
  double sweep_smooth;   /* chance that a hand sweep passes smoothly */
  plag_proportion meter_reference_bad, meter_ground_bad;
  double meter_agrees; /* chance that the meter at the connector reads what the capture read */
} plag_expectation;

/* The healthy valve. */
void plag_expectation_healthy(plag_expectation *expected);

/* A valve whose plates do not move (or whose movement the signal does not show). */
void plag_expectation_motionless(plag_expectation *expected);

/* A healthy valve seen through a sensor line that drops out. */
void plag_expectation_interrupted(plag_expectation *expected);

#endif
