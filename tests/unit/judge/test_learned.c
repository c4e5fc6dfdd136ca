/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was learned takes its place: of what a hypothesis states its own rows, of what it leaves to
 * the healthy valve the usual ones, of the recording's style before any. Held against the learned
 * tables as they stand, with hypotheses made for the purpose. */
#include "support/check.h"

#include <string.h>

#include "judge/learned.h"

static const plag_learned_row table[] = {
#include "judge/learned_densities.inc"
};

static const double weights[PLAG_FEATURE_COUNT] = {
#include "judge/learned_weights.inc"
};

enum { ROWS = sizeof table / sizeof table[0] };

/* The row for a fact: for this style, else for any; NULL. */
static const plag_learned_row *learned(const char *name, plag_feature feature, plag_style style) {
  const plag_learned_row *any = NULL;
  const plag_learned_row *own = NULL;
  for (size_t i = 0; i < ROWS; i++) {
    if (strcmp(table[i].hypothesis, name) != 0 || table[i].feature != feature)
      continue;
    if (table[i].style == PLAG_STYLE_ANY)
      any = &table[i];
    if (table[i].style == style)
      own = &table[i];
  }
  return own != NULL ? own : any;
}

static const plag_facts *facts_of(plag_style style) {
  static plag_facts facts;
  facts = (plag_facts){.controlled = style == PLAG_STYLE_DESIRED,
                       .loop_closed = style == PLAG_STYLE_LOOP,
                       .two_level = style == PLAG_STYLE_TWO_LEVEL};
  return &facts;
}

static void expect_nothing(const plag_facts *facts, plag_expectation *expected) {
  (void)facts;
  plag_expectation_healthy(expected);
}

/* Something else in the first number of one fact, the second of another, in one that stands
 * alone. */
static void expect_three(const plag_facts *facts, plag_expectation *expected) {
  expect_nothing(facts, expected);
  expected->noise.centre += 0.737;
  expected->frozen_share.strength *= 1.319;
  expected->trend_pct *= 1.613;
}

static bool is_one_of_three(plag_feature feature) {
  return feature == PLAG_FEATURE_NOISE || feature == PLAG_FEATURE_FROZEN_SHARE ||
         feature == PLAG_FEATURE_TREND;
}

static const plag_hypothesis states_nothing = {.name = "made", .expect = expect_nothing};
static const plag_hypothesis states_three = {.name = "made", .expect = expect_three};
static const plag_hypothesis known_by_name = {.name = "noisy signal", .expect = expect_three};

static void check_noise(const plag_expectation *expected, double centre, double sd) {
  assert_close(expected->noise.centre, centre, 0, 1e-12);
  assert_close(expected->noise.sd, sd, 0, 1e-12);
}

static void a_style_comes_of_the_facts(void **state) {
  (void)state;
  for (int style = 0; style < PLAG_STYLE_COUNT; style++)
    assert_int_equal(plag_learned_style(facts_of((plag_style)style)), style);
}

static void what_differs_is_stated(void **state) {
  (void)state;
  const plag_facts *facts = facts_of(PLAG_STYLE_DUTY);
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++) {
    assert_false(plag_learned_states(&states_nothing, facts, (plag_feature)f));
    assert_int_equal(plag_learned_states(&states_three, facts, (plag_feature)f),
                     is_one_of_three((plag_feature)f));
  }
}

/* The usual rows stand for what is left to the healthy valve, by style where there is one. */
static void the_usual_stands_for_what_is_not_stated(void **state) {
  (void)state;
  for (int style = 0; style < PLAG_STYLE_COUNT; style++) {
    const plag_facts *facts = facts_of((plag_style)style);
    plag_expectation healthy, expected;
    plag_expectation_healthy(&healthy);
    expected = healthy;
    plag_learned_apply(&states_nothing, facts, &expected);
    const plag_learned_row *noise =
        learned(PLAG_LEARNED_USUAL, PLAG_FEATURE_NOISE, (plag_style)style);
    const plag_learned_row *high =
        learned(PLAG_LEARNED_USUAL, PLAG_FEATURE_HIGH_LEVEL, (plag_style)style);
    assert_non_null(noise);
    assert_non_null(high);
    check_noise(&expected, noise->a, noise->b);
    assert_close(expected.high_level_pct.centre, high->a, 0, 1e-12);
    assert_close(expected.high_level_pct.sd, high->b, 0, 1e-12);
  }
}

/* A hypothesis of which nothing was learned keeps what it states. */
static void what_is_stated_stays_without_rows_of_its_own(void **state) {
  (void)state;
  const plag_facts *facts = facts_of(PLAG_STYLE_LOOP);
  plag_expectation own, expected;
  expect_three(facts, &own);
  expected = own;
  plag_learned_apply(&states_three, facts, &expected);
  check_noise(&expected, own.noise.centre, own.noise.sd);
  assert_close(expected.frozen_share.strength, own.frozen_share.strength, 0, 1e-12);
  assert_close(expected.trend_pct, own.trend_pct, 0, 1e-12);
  const plag_learned_row *low =
      learned(PLAG_LEARNED_USUAL, PLAG_FEATURE_LOW_SHARE, PLAG_STYLE_LOOP);
  assert_close(expected.low_share.mean, low->a, 0, 1e-12);
}

/* Its own rows stand for what it states; those for what it does not state are not asked. */
static void its_own_rows_stand_for_what_is_stated(void **state) {
  (void)state;
  size_t with_own = 0;
  for (int style = 0; style < PLAG_STYLE_COUNT; style++) {
    const plag_facts *facts = facts_of((plag_style)style);
    plag_expectation expected;
    expect_three(facts, &expected);
    plag_learned_apply(&known_by_name, facts, &expected);
    const plag_learned_row *own =
        learned(known_by_name.name, PLAG_FEATURE_NOISE, (plag_style)style);
    with_own += own != NULL;
    if (own != NULL)
      check_noise(&expected, own->a, own->b);
  }
  assert_int_equal(with_own, PLAG_STYLE_COUNT);
  const plag_hypothesis states_none_of_it = {known_by_name.name, .expect = expect_nothing};
  plag_expectation expected;
  plag_expectation_healthy(&expected);
  plag_learned_apply(&states_none_of_it, facts_of(PLAG_STYLE_DUTY), &expected);
  const plag_learned_row *usual = learned(PLAG_LEARNED_USUAL, PLAG_FEATURE_NOISE, PLAG_STYLE_DUTY);
  check_noise(&expected, usual->a, usual->b);
}

static void every_fact_has_a_weight(void **state) {
  (void)state;
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++) {
    const double weight = plag_learned_weight((plag_feature)f);
    assert_between(weight, 1e-6, 1.0);
    if (weights[f] > 0)
      assert_close(weight, weights[f], 0, 1e-12);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_style_comes_of_the_facts),
      cmocka_unit_test(what_differs_is_stated),
      cmocka_unit_test(the_usual_stands_for_what_is_not_stated),
      cmocka_unit_test(what_is_stated_stays_without_rows_of_its_own),
      cmocka_unit_test(its_own_rows_stand_for_what_is_stated),
      cmocka_unit_test(every_fact_has_a_weight),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
