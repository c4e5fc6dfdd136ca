/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The facts of a record: what all hypotheses are scored on, so that they can be compared. A fact
 * that the record does not hold is not present and scores nothing for anybody. */
#ifndef PLAG_JUDGE_FACTS_H
#define PLAG_JUDGE_FACTS_H

#include "platelag/finding.h"

/* One fact. What each means stands beside its row in features.c. */
typedef enum plag_feature {
  /* the signal */
  PLAG_FEATURE_HIGH_SHARE,
  PLAG_FEATURE_LOW_SHARE,
  PLAG_FEATURE_HIGH_LEVEL,
  PLAG_FEATURE_HIGH_DITHER,
  PLAG_FEATURE_DROPOUTS,
  PLAG_FEATURE_FROZEN_SHARE,
  PLAG_FEATURE_NOISE,
  PLAG_FEATURE_JUMP_DIRECTION,
  PLAG_FEATURE_JUMP_UNASKED,
  PLAG_FEATURE_VOID_PLACE,
  PLAG_FEATURE_VOID_MOVING,
  PLAG_FEATURE_SAG,
  PLAG_FEATURE_REFERENCE_DIPS,
  PLAG_FEATURE_AWAY_LEAPS,
  PLAG_FEATURE_TREND,
  /* the movement */
  PLAG_FEATURE_MOVED,
  PLAG_FEATURE_REST_GAP,
  PLAG_FEATURE_STILL_DITHER,
  PLAG_FEATURE_HELD,
  PLAG_FEATURE_HELD_PLACE,
  PLAG_FEATURE_HELD_LEAPT,
  PLAG_FEATURE_EFFORT,
  PLAG_FEATURE_WARM,
  PLAG_FEATURE_T63,
  PLAG_FEATURE_T63_RATIO,
  PLAG_FEATURE_STICK_BAND,
  PLAG_FEATURE_STOPS,
  PLAG_FEATURE_DESCRIPTION,
  /* other channels */
  PLAG_FEATURE_AIR_ANSWER,
  PLAG_FEATURE_CURRENT,
  PLAG_FEATURE_LAG_SUPPLY,
  /* a case */
  PLAG_FEATURE_SWEEP,
  PLAG_FEATURE_METER_REFERENCE,
  PLAG_FEATURE_METER_GROUND,
  PLAG_FEATURE_METER_SIGNAL,
  PLAG_FEATURE_COUNT
} plag_feature;

typedef struct plag_fact {
  bool present;
  double value; /* as reported */
  double limit; /* as reported; NaN */
  double count; /* of how many, or exposure, where the feature needs it */
} plag_fact;

/* Which description of the movement a hypothesis stands for. */
typedef enum plag_description {
  PLAG_DESCRIPTION_CONSTANT,
  PLAG_DESCRIPTION_FREE,
  PLAG_DESCRIPTION_FRICTION,
  PLAG_DESCRIPTION_COUNT
} plag_description;

typedef struct plag_facts {
  plag_fact fact[PLAG_FEATURE_COUNT];

  /* what several features and the gate share */
  bool commanded;   /* the command moved by at least the span that `still` asks for */
  bool moved;       /* the position moved beyond its noise */
  bool controlled;  /* the command is a desired position: the controller makes up for what is off */
  bool loop_closed; /* the command is a duty that follows the position */
  bool absolute;    /* travel is scaled by the spec's stops: it can be seen to be short of them */
  bool two_level;   /* the command is on or off: full pulls only, which hide friction */
  bool railed;      /* most of the record is past a limit */
  bool by_hand;     /* a hand turned the shaft, or it looks as if: what it did is no fault */
  double t63_above; /* probability that the slower t63 is above its limit */
  double stick_above;                      /* the same of the stick band */
  double closed_error_pct, open_error_pct; /* settled level less the stop; % of travel */
  double tolerance_pct;                    /* the spec's tolerance in % of travel */
  double short_limit_pct;                  /* of the spec */
  double span_ratio; /* closed stop over open stop in volts: how a scaled span shifts each */
  double behind[PLAG_DESCRIPTION_COUNT]; /* BIC behind the best description, nats, 0 or more */
  double held_beyond;                    /* held intervals whose pull passed the stick-band limit */
} plag_facts;

/* The command span from which a position that does not move is `still`, % of its range. */
#define PLAG_STILL_SPAN_PCT 20.0

/* Takes the facts of one capture. Pure. */
void plag_facts_take(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, plag_facts *facts);

/* The probability that a quantity is above `limit`, by its interval, for a flat prior. */
double plag_facts_above(const platelag_estimate *estimate, double limit);

/* The slower of opening and closing, NULL when neither is known. Lent by `lag`. */
const platelag_estimate *plag_facts_slower(const platelag_lag *lag);

#endif
