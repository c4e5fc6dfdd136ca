/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/learned.h"

#include <string.h>

static const plag_learned_row row[] = {
#include "judge/learned_densities.inc"
    {NULL, PLAG_FEATURE_COUNT, PLAG_STYLE_ANY, 0, 0},
};

static const double weight[PLAG_FEATURE_COUNT] = {
#include "judge/learned_weights.inc"
};

plag_style plag_learned_style(const plag_facts *facts) {
  if (facts->controlled)
    return PLAG_STYLE_DESIRED;
  if (facts->loop_closed)
    return PLAG_STYLE_LOOP;
  return facts->two_level ? PLAG_STYLE_TWO_LEVEL : PLAG_STYLE_DUTY;
}

/* The two numbers that an expectation holds for a fact, as pointers; NULL where it is not one of
 * the learned kind. */
typedef struct numbers {
  double *a, *b;
} numbers;

#define SHARE(field)                                                                               \
  (numbers) {                                                                                      \
    &expected->field.mean, &expected->field.strength                                               \
  }
#define RATE(field)                                                                                \
  (numbers) {                                                                                      \
    &expected->field.rate, &expected->field.shape                                                  \
  }
#define LEVEL(field)                                                                               \
  (numbers) {                                                                                      \
    &expected->field.centre, &expected->field.sd                                                   \
  }
#define CHANCE(field)                                                                              \
  (numbers) {                                                                                      \
    &expected->field.a, &expected->field.b                                                         \
  }
#define ALONE(field)                                                                               \
  (numbers) {                                                                                      \
    &expected->field, NULL                                                                         \
  }

static numbers numbers_of(plag_expectation *expected, plag_feature feature) {
  switch (feature) {
  case PLAG_FEATURE_HIGH_SHARE:
    return SHARE(high_share);
  case PLAG_FEATURE_LOW_SHARE:
    return SHARE(low_share);
  case PLAG_FEATURE_HIGH_LEVEL:
    return LEVEL(high_level_pct);
  case PLAG_FEATURE_DROPOUTS:
    return RATE(dropouts);
  case PLAG_FEATURE_FROZEN_SHARE:
    return SHARE(frozen_share);
  case PLAG_FEATURE_NOISE:
    return LEVEL(noise);
  case PLAG_FEATURE_JUMP_DIRECTION:
    return CHANCE(jump_direction);
  case PLAG_FEATURE_JUMP_UNASKED:
    return CHANCE(jump_unasked);
  case PLAG_FEATURE_VOID_MOVING:
    return SHARE(void_moving);
  case PLAG_FEATURE_SAG:
    return SHARE(sag);
  case PLAG_FEATURE_REFERENCE_DIPS:
    return SHARE(reference_dips);
  case PLAG_FEATURE_AWAY_LEAPS:
    return RATE(away_leaps);
  case PLAG_FEATURE_TREND:
    return ALONE(trend_pct);
  case PLAG_FEATURE_MOVED:
    return SHARE(moved);
  case PLAG_FEATURE_HELD:
    return RATE(held);
  case PLAG_FEATURE_HELD_PLACE:
    return ALONE(held_place_sd_pct);
  case PLAG_FEATURE_HELD_LEAPT:
    return CHANCE(held_leapt);
  case PLAG_FEATURE_EFFORT:
    return LEVEL(effort_pct);
  case PLAG_FEATURE_WARM:
    return LEVEL(warm);
  case PLAG_FEATURE_T63:
    return ALONE(t63);
  case PLAG_FEATURE_STICK_BAND:
    return ALONE(stick_band);
  case PLAG_FEATURE_T63_RATIO:
    return LEVEL(t63_ratio);
  default:
    return (numbers){NULL, NULL};
  }
}

static bool differ(const numbers *one, const numbers *other) {
  return one->a != NULL && (*one->a != *other->a || (one->b != NULL && *one->b != *other->b));
}

/* What a hypothesis expects by itself, beside what a healthy valve does. */
typedef struct pair {
  plag_expectation own, healthy;
} pair;

static void expect_both(const plag_hypothesis *hypothesis, const plag_facts *facts, pair *out) {
  hypothesis->expect(facts, &out->own);
  plag_expectation_healthy(&out->healthy);
}

static bool states(pair *expected, plag_feature feature) {
  const numbers stated = numbers_of(&expected->own, feature);
  const numbers usual = numbers_of(&expected->healthy, feature);
  return differ(&stated, &usual);
}

bool plag_learned_states(const plag_hypothesis *hypothesis, const plag_facts *facts,
                         plag_feature feature) {
  pair expected;
  expect_both(hypothesis, facts, &expected);
  return states(&expected, feature);
}

static void put(const plag_learned_row *from, plag_expectation *expected) {
  const numbers to = numbers_of(expected, from->feature);
  if (to.a != NULL)
    *to.a = from->a;
  if (to.b != NULL)
    *to.b = from->b;
}

static void apply(const char *name, plag_style style, const bool *skip,
                  plag_expectation *expected) {
  /* A row for the recording's own style stands behind the one for any. */
  for (const plag_learned_row *at = row; at->hypothesis != NULL; at++)
    if (!skip[at->feature] && (at->style == PLAG_STYLE_ANY || at->style == style) &&
        strcmp(at->hypothesis, name) == 0)
      put(at, expected);
}

void plag_learned_apply(const plag_hypothesis *hypothesis, const plag_facts *facts,
                        plag_expectation *expected) {
  const plag_style style = plag_learned_style(facts);
  bool stated[PLAG_FEATURE_COUNT];
  bool usual[PLAG_FEATURE_COUNT];
  pair both;
  expect_both(hypothesis, facts, &both);
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++) {
    stated[f] = states(&both, (plag_feature)f);
    usual[f] = !stated[f];
  }
  apply(PLAG_LEARNED_USUAL, style, stated, expected);
  apply(hypothesis->name, style, usual, expected);
}

/* Of a feature that came after the tables were made. */
#define WEIGHT_NOT_LEARNED 0.7

double plag_learned_weight(plag_feature feature) {
  return weight[feature] > 0 ? weight[feature] : WEIGHT_NOT_LEARNED;
}
