/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/features.h"

#include <math.h>

#include "judge/learned.h"

typedef const plag_facts *facts_in;
typedef const plag_expectation *expected_in;

/* Widths over which a fact may lie when nothing is said of it. */
#define HIGH_LEVEL_RANGE_PCT 12.0
#define TRAVEL_RANGE_PCT     100.0
#define SPREAD_RANGE_PCT     40.0
#define LOG_RANGE            4.0

static double value(facts_in facts, plag_feature feature) {
  return facts->fact[feature].value;
}
static double exposure(facts_in facts, plag_feature feature) {
  return facts->fact[feature].count;
}

static double high_share(facts_in f, expected_in e) {
  return plag_density_proportion_by(value(f, PLAG_FEATURE_HIGH_SHARE), e->high_share,
                                    PLAG_DENSITY_BACKGROUND_LIMIT);
}
static double low_share(facts_in f, expected_in e) {
  return plag_density_proportion_by(value(f, PLAG_FEATURE_LOW_SHARE), e->low_share,
                                    PLAG_DENSITY_BACKGROUND_LIMIT);
}
static double high_level(facts_in f, expected_in e) {
  return plag_density_level(value(f, PLAG_FEATURE_HIGH_LEVEL), HIGH_LEVEL_RANGE_PCT,
                            e->high_level_pct, PLAG_DENSITY_BACKGROUND);
}
static double high_dither(facts_in f, expected_in e) {
  return plag_density_yes(value(f, PLAG_FEATURE_HIGH_DITHER) > 0, e->high_dither);
}
/* Readings that are there and back are rarely made by anything but a bad contact. */
#define DROPOUT_BACKGROUND 0.002

static double dropouts(facts_in f, expected_in e) {
  return plag_density_count(value(f, PLAG_FEATURE_DROPOUTS), exposure(f, PLAG_FEATURE_DROPOUTS),
                            e->dropouts, DROPOUT_BACKGROUND);
}
static double frozen_share(facts_in f, expected_in e) {
  return plag_density_proportion(value(f, PLAG_FEATURE_FROZEN_SHARE), e->frozen_share);
}
static double noise(facts_in f, expected_in e) {
  return plag_density_level(log10(value(f, PLAG_FEATURE_NOISE)), LOG_RANGE, e->noise,
                            PLAG_DENSITY_BACKGROUND_LIMIT);
}
static double jump_direction(facts_in f, expected_in e) {
  return plag_density_chance(value(f, PLAG_FEATURE_JUMP_DIRECTION),
                             exposure(f, PLAG_FEATURE_JUMP_DIRECTION), e->jump_direction);
}
static double jump_unasked(facts_in f, expected_in e) {
  return plag_density_chance(value(f, PLAG_FEATURE_JUMP_UNASKED),
                             exposure(f, PLAG_FEATURE_JUMP_UNASKED), e->jump_unasked);
}
static double void_place(facts_in f, expected_in e) {
  return plag_density_spread(value(f, PLAG_FEATURE_VOID_PLACE), SPREAD_RANGE_PCT,
                             e->void_place_sd_pct);
}
static double void_moving(facts_in f, expected_in e) {
  return plag_density_proportion(value(f, PLAG_FEATURE_VOID_MOVING), e->void_moving);
}
static double sag(facts_in f, expected_in e) {
  return plag_density_proportion(value(f, PLAG_FEATURE_SAG), e->sag);
}
static double reference_dips(facts_in f, expected_in e) {
  return plag_density_proportion_by(value(f, PLAG_FEATURE_REFERENCE_DIPS), e->reference_dips,
                                    PLAG_DENSITY_BACKGROUND_LIMIT);
}
static double away_leaps(facts_in f, expected_in e) {
  return plag_density_count(value(f, PLAG_FEATURE_AWAY_LEAPS), exposure(f, PLAG_FEATURE_AWAY_LEAPS),
                            e->away_leaps, PLAG_DENSITY_BACKGROUND);
}
static double trend(facts_in f, expected_in e) {
  const double sd = hypot(e->trend_pct, exposure(f, PLAG_FEATURE_TREND));
  return plag_density_level(value(f, PLAG_FEATURE_TREND), TRAVEL_RANGE_PCT, (plag_level){0, sd},
                            PLAG_DENSITY_BACKGROUND);
}
/* On a scale that was learned from the trace itself plates that move at all move fully. */
static double moved(facts_in f, expected_in e) {
  const bool all = !f->absolute && e->moved.mean > 0.3;
  return plag_density_proportion(value(f, PLAG_FEATURE_MOVED),
                                 all ? (plag_proportion){0.97, 12} : e->moved);
}
/* Plates at rest lie within a few % of a stop; others anywhere up to the middle. */
#define REST_SD_PCT    4.0
#define REST_RANGE_PCT 50.0

static double rest_gap(facts_in f, expected_in e) {
  const double gap = fabs(value(f, PLAG_FEATURE_REST_GAP));
  const double near = exp(plag_density_spread(gap, REST_RANGE_PCT, REST_SD_PCT));
  return log(e->at_rest * near + (1.0 - e->at_rest) / REST_RANGE_PCT);
}
static double still_dither(facts_in f, expected_in e) {
  return plag_density_yes(value(f, PLAG_FEATURE_STILL_DITHER) > 0, e->still_dither);
}
/* False held intervals are rare by design (one in ten hours of free driving), so a record of many
 * is seldom all wrong. */
#define HELD_BACKGROUND 0.0005

static double held(facts_in f, expected_in e) {
  return plag_density_count(f->held_beyond, exposure(f, PLAG_FEATURE_HELD), e->held,
                            HELD_BACKGROUND);
}
static double held_place(facts_in f, expected_in e) {
  return plag_density_spread(value(f, PLAG_FEATURE_HELD_PLACE), SPREAD_RANGE_PCT,
                             e->held_place_sd_pct);
}
static double held_leapt(facts_in f, expected_in e) {
  return plag_density_chance(value(f, PLAG_FEATURE_HELD_LEAPT),
                             exposure(f, PLAG_FEATURE_HELD_LEAPT), e->held_leapt);
}
static double effort(facts_in f, expected_in e) {
  return plag_density_level(value(f, PLAG_FEATURE_EFFORT), TRAVEL_RANGE_PCT, e->effort_pct,
                            PLAG_DENSITY_BACKGROUND);
}
static double warm(facts_in f, expected_in e) {
  return plag_density_level(value(f, PLAG_FEATURE_WARM), 2.0, e->warm, PLAG_DENSITY_BACKGROUND);
}
/* Healthy valves answer in about a third of the usual limit; slow ones in up to eight times it. */
static double t63(facts_in f, expected_in e) {
  const plag_fact *fact = &f->fact[PLAG_FEATURE_T63];
  return plag_density_side(f->t63_above, fact->count > 0 ? fact->value / fact->limit : NAN, 0.35, 8,
                           e->t63);
}
static double t63_ratio(facts_in f, expected_in e) {
  return plag_density_level(log(value(f, PLAG_FEATURE_T63_RATIO)), LOG_RANGE, e->t63_ratio,
                            PLAG_DENSITY_BACKGROUND);
}
/* Healthy plates stick by about a fifth of the usual limit; carbon holds up to six times it. */
static double stick_band(facts_in f, expected_in e) {
  const plag_fact *fact = &f->fact[PLAG_FEATURE_STICK_BAND];
  return plag_density_side(f->stick_above, fact->count > 0 ? fact->value / fact->limit : NAN, 0.2,
                           6, e->stick_band);
}

/* How well settled ends scatter about their stops, % of travel: linkage play and converter steps
 * (a judgement, no source). */
#define STOP_SD_PCT 4.0
/* How sharply a limit on a settled end divides, % of travel. */
#define EDGE_SD_PCT 0.8

static double normal(double x, double sd) {
  return exp(-0.5 * x * x / (sd * sd)) / (sd * 2.50662827463100050242);
}
/* Uniform between `from` and `to` with soft ends; nowhere, where limits of the spec leave no room
 * between them. */
static double between(double x, double from, double to) {
  if (!(to > from))
    return 0;
  return (plag_density_normal_below((x - from) / EDGE_SD_PCT) -
          plag_density_normal_below((x - to) / EDGE_SD_PCT)) /
         (to - from);
}

static double one_short(facts_in f, double short_by, double other) {
  return between(short_by, f->short_limit_pct, 95) *
         (0.9 * normal(other, STOP_SD_PCT) + 0.1 * between(other, -25, 25));
}

static double stops_density(facts_in f, plag_stops stops) {
  const double closed = f->closed_error_pct;
  const double open = f->open_error_pct;
  const double middle = 0.5 * (closed + open);
  const double apart = open - closed;
  const double tolerance = f->tolerance_pct;
  switch (stops) {
  case PLAG_STOPS_RIGHT:
    return (0.6 * normal(middle, STOP_SD_PCT) + 0.4 * between(middle, -tolerance, tolerance)) *
           normal(apart, STOP_SD_PCT);
  case PLAG_STOPS_ONE_SHORT:
    return 0.5 * one_short(f, closed, open) + 0.5 * one_short(f, -open, closed);
  case PLAG_STOPS_DRIVEN_SHORT:
    return f->fact[PLAG_FEATURE_STOPS].count < 0 ? one_short(f, closed, open)
                                                 : one_short(f, -open, closed);
  case PLAG_STOPS_HALTED:
    return 0.85 * stops_density(f, PLAG_STOPS_RIGHT) + 0.15 * 1e-4;
  case PLAG_STOPS_OFFSET:
    /* A controller moves the plates until the reading fits, so a shifted reading shows only at the
     * stop where it runs out of travel. */
    if (f->controlled)
      return stops_density(f, PLAG_STOPS_ONE_SHORT);
    return 0.5 * (between(middle, tolerance, 80) + between(middle, -80, -tolerance)) *
           normal(apart, STOP_SD_PCT);
  case PLAG_STOPS_SCALED: {
    if (f->controlled)
      return stops_density(f, PLAG_STOPS_ONE_SHORT);
    const double miss = closed - f->span_ratio * open;
    return 0.5 * (between(open, f->short_limit_pct, 80) + between(open, -80, -f->short_limit_pct)) *
           normal(miss, STOP_SD_PCT);
  }
  case PLAG_STOPS_ANYWHERE:
    break;
  }
  return 1e-4;
}

static double stops(facts_in f, expected_in e) {
  const double background = 1e-4; /* 100 % by 100 % of travel */
  return log((1.0 - PLAG_DENSITY_BACKGROUND_LIMIT) * stops_density(f, e->stops) +
             PLAG_DENSITY_BACKGROUND_LIMIT * background);
}

/* BIC differences grow with the length of the record while the descriptions themselves are only
 * roughly right, so they are tempered: the first nats count fully, all of them at most this. */
#define DESCRIPTION_WEIGHT     6.0
#define DESCRIPTION_SCALE_NATS 15.0

static double description(facts_in f, expected_in e) {
  return -DESCRIPTION_WEIGHT * (1.0 - exp(-f->behind[e->description] / DESCRIPTION_SCALE_NATS));
}

/* A t-like statistic: about +-1 without an answer; several with one. */
static double air_answer(facts_in f, expected_in e) {
  const double t = value(f, PLAG_FEATURE_AIR_ANSWER);
  switch (e->air) {
  case PLAG_ANSWER_YES:
    return plag_density_spread(fabs(t), 20, 8);
  case PLAG_ANSWER_NO:
    return plag_density_spread(fabs(t), 20, 1.2);
  case PLAG_ANSWER_ANY:
    break;
  }
  return plag_density_spread(fabs(t), 20, 4);
}

static double current(facts_in f, expected_in e) {
  const double flows = value(f, PLAG_FEATURE_CURRENT) > f->fact[PLAG_FEATURE_CURRENT].limit;
  switch (e->current) {
  case PLAG_ANSWER_YES:
    return plag_density_yes(flows, 0.95);
  case PLAG_ANSWER_NO:
    return plag_density_yes(flows, 0.05);
  case PLAG_ANSWER_ANY:
    break;
  }
  return plag_density_yes(flows, 0.9);
}

static double lag_supply(facts_in f, expected_in e) {
  return plag_density_level(value(f, PLAG_FEATURE_LAG_SUPPLY), 2.0, e->lag_supply,
                            PLAG_DENSITY_BACKGROUND);
}
static double sweep(facts_in f, expected_in e) {
  return plag_density_yes(value(f, PLAG_FEATURE_SWEEP) == 0, e->sweep_smooth);
}

/* A reading is 0 when right and 1 when far outside, with a soft edge. */
static double meter_reference(facts_in f, expected_in e) {
  const double bad = plag_density_normal_below(
      (fabs(value(f, PLAG_FEATURE_METER_REFERENCE)) - f->fact[PLAG_FEATURE_METER_REFERENCE].limit) /
      0.05);
  return plag_density_proportion(bad, e->meter_reference_bad);
}
static double meter_ground(facts_in f, expected_in e) {
  const double bad = plag_density_normal_below(
      (fabs(value(f, PLAG_FEATURE_METER_GROUND)) - f->fact[PLAG_FEATURE_METER_GROUND].limit) /
      0.03);
  return plag_density_proportion(bad, e->meter_ground_bad);
}
static double meter_signal(facts_in f, expected_in e) {
  const bool agrees =
      fabs(value(f, PLAG_FEATURE_METER_SIGNAL)) <= f->fact[PLAG_FEATURE_METER_SIGNAL].limit;
  return plag_density_yes(agrees, e->meter_agrees);
}

/* What is told fits a line of a report with its figure; counts have units that end in s. */
static const plag_feature_row row[PLAG_FEATURE_COUNT] = {
    [PLAG_FEATURE_HIGH_SHARE] = {"time past the upper limit", "% of the record", high_share},
    [PLAG_FEATURE_LOW_SHARE] = {"time past the lower limit", "% of the record", low_share},
    [PLAG_FEATURE_HIGH_LEVEL] = {"level while high; a wire reads 96 % or more", "% of reference",
                                 high_level},
    [PLAG_FEATURE_HIGH_DITHER] = {"noise while high; a pinned wire has none", "% of reference",
                                  high_dither},
    [PLAG_FEATURE_DROPOUTS] = {"readings lost and back again", "dropouts", dropouts},
    [PLAG_FEATURE_FROZEN_SHARE] = {"exact repeats while the command moved", "% of the record",
                                   frozen_share},
    [PLAG_FEATURE_NOISE] = {"noise between moves", "% of travel", noise},
    [PLAG_FEATURE_JUMP_DIRECTION] = {"jumps that went towards the command", "% of jumps",
                                     jump_direction},
    [PLAG_FEATURE_JUMP_UNASKED] = {"jumps while the command was at rest", "% of jumps",
                                   jump_unasked},
    [PLAG_FEATURE_VOID_PLACE] = {"scatter of the places where readings were lost", "% of travel",
                                 void_place},
    [PLAG_FEATURE_VOID_MOVING] = {"readings lost while the plates moved", "% of those lost",
                                  void_moving},
    [PLAG_FEATURE_SAG] = {"readings lost with supply or reference down", "% of those lost", sag},
    [PLAG_FEATURE_REFERENCE_DIPS] = {"time with the sensor reference down", "% of the record",
                                     reference_dips},
    [PLAG_FEATURE_AWAY_LEAPS] = {"leaps away from a resting command", "leaps", away_leaps},
    [PLAG_FEATURE_TREND] = {"drift of the levels over the record", "% of travel", trend},
    [PLAG_FEATURE_MOVED] = {"movement seen of that commanded", "%", moved},
    [PLAG_FEATURE_REST_GAP] = {"distance from the nearer stop while still", "% of travel",
                               rest_gap},
    [PLAG_FEATURE_STILL_DITHER] = {"noise while still; a frozen signal has none", "% of travel",
                                   still_dither},
    [PLAG_FEATURE_HELD] = {"held while pulled past the limit", "times", held},
    [PLAG_FEATURE_HELD_PLACE] = {"scatter of the places where they held", "% of travel",
                                 held_place},
    [PLAG_FEATURE_HELD_LEAPT] = {"holds that began with a leap away", "% of holds", held_leapt},
    [PLAG_FEATURE_EFFORT] = {"climb of the effort while they held", "%", effort},
    [PLAG_FEATURE_WARM] = {"held time, cold less warm", "% of the pulled time", warm},
    [PLAG_FEATURE_T63] = {"t63, the slower way", "s", t63},
    [PLAG_FEATURE_T63_RATIO] = {"ratio of t63, driven to returning way", "", t63_ratio},
    [PLAG_FEATURE_STICK_BAND] = {"stick band", "% of travel", stick_band},
    [PLAG_FEATURE_STOPS] = {"the stop that reads furthest off", "% of travel", stops},
    [PLAG_FEATURE_DESCRIPTION] = {"friction explains the movement, free plates do not", "nats",
                                  description},
    [PLAG_FEATURE_AIR_ANSWER] = {"the air channels answer the command", "t", air_answer},
    [PLAG_FEATURE_CURRENT] = {"actuator current while commanded", "A", current},
    [PLAG_FEATURE_LAG_SUPPLY] = {"correlation of lag and supply voltage", "", lag_supply},
    [PLAG_FEATURE_SWEEP] = {"dead or jumping spots in the hand sweep", "spots", sweep},
    [PLAG_FEATURE_METER_REFERENCE] = {"reference by meter, off by", "V", meter_reference},
    [PLAG_FEATURE_METER_GROUND] = {"ground by meter", "V", meter_ground},
    [PLAG_FEATURE_METER_SIGNAL] = {"signal by meter less the signal recorded", "V", meter_signal},
};

const plag_feature_row *plag_feature_at(plag_feature feature) {
  return &row[feature];
}

double plag_features_score(const plag_facts *facts, const plag_expectation *expected,
                           double by_feature[PLAG_FEATURE_COUNT]) {
  double sum = 0;
  for (int i = 0; i < PLAG_FEATURE_COUNT; i++) {
    by_feature[i] = facts->fact[i].present
                        ? plag_learned_weight((plag_feature)i) * row[i].log_density(facts, expected)
                        : 0;
    sum += by_feature[i];
  }
  return sum;
}
