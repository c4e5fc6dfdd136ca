/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The list of hypotheses is whole: names differ, priors add up to 1, every finding that can be made
 * has a hypothesis, and every feature is told in words. */
#include "support/check.h"

#include <string.h>

#include "judge/calibration.h"

static void priors_add_up_to_one(void **state) {
  (void)state;
  double sum = 0;
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    assert_true(plag_hypothesis_at(i)->prior > 0);
    sum += plag_hypothesis_at(i)->prior;
  }
  assert_close(sum, 1, 0, 1e-12);
}

static void names_differ(void **state) {
  (void)state;
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    for (size_t j = 0; j < i; j++)
      assert_string_not_equal(plag_hypothesis_at(i)->hypothesis->name,
                              plag_hypothesis_at(j)->hypothesis->name);
}

static void every_finding_has_a_hypothesis(void **state) {
  (void)state;
  for (int k = 0; k < PLATELAG_FINDING_UNDECIDED; k++) {
    size_t found = 0;
    for (size_t i = 0; i < plag_hypothesis_count(); i++)
      found += plag_hypothesis_at(i)->hypothesis->finding == (platelag_finding_kind)k;
    if (found == 0)
      fail_msg("no hypothesis for %s", platelag_finding_name((platelag_finding_kind)k));
  }
}

static void every_feature_is_told(void **state) {
  (void)state;
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++) {
    const plag_feature_row *row = plag_feature_at((plag_feature)f);
    if (row->what == NULL || row->unit == NULL || row->log_density == NULL)
      fail_msg("feature %d has no row", f);
  }
}

static void no_facts_leave_the_priors(void **state) {
  (void)state;
  double nothing[PLAG_HYPOTHESIS_MOST] = {0};
  double probability[PLAG_HYPOTHESIS_MOST];
  plag_calibration_apply(nothing, false, true, probability);
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    assert_close(probability[i], plag_hypothesis_at(i)->prior, 1e-9, 0);
}

/* Design section 7: wire and plates past their stop both stay open until a sweep or a meter. */
static void a_high_signal_alone_never_settles_the_family(void **state) {
  (void)state;
  for (int settled = 0; settled < 2; settled++) {
    double log_likelihood[PLAG_HYPOTHESIS_MOST] = {0};
    double probability[PLAG_HYPOTHESIS_MOST];
    double wire = 0;
    for (size_t i = 0; i < plag_hypothesis_count(); i++)
      if (plag_hypothesis_at(i)->hypothesis == &plag_hypothesis_open_or_shorted)
        log_likelihood[i] = 37.3;
      else if (plag_hypothesis_at(i)->hypothesis == &plag_hypothesis_jam_past_stop)
        log_likelihood[i] = 13.1;
    plag_calibration_apply(log_likelihood, false, settled, probability);
    for (size_t i = 0; i < plag_hypothesis_count(); i++)
      if (plag_hypothesis_at(i)->hypothesis == &plag_hypothesis_open_or_shorted)
        wire = probability[i];
    assert_between(wire, settled ? 0.99 : 0.80, settled ? 1.0 : 0.8501);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(priors_add_up_to_one),
      cmocka_unit_test(names_differ),
      cmocka_unit_test(every_finding_has_a_hypothesis),
      cmocka_unit_test(every_feature_is_told),
      cmocka_unit_test(no_facts_leave_the_priors),
      cmocka_unit_test(a_high_signal_alone_never_settles_the_family),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
