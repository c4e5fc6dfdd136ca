/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/hypothesis.h"

#include <assert.h>

#include "judge/learned.h"

/* The priors: how often each cause stands behind a capture that somebody thought worth recording.
 * A judgement, no source: close to half are healthy, carbon leads the faults, wiring follows. They
 * add up to 1 (a test holds them to it). */
static const plag_hypothesis_row row[] = {
    {&plag_hypothesis_free, 0.357},
    {&plag_hypothesis_slight_drift, 0.010},
    {&plag_hypothesis_friction, 0.100},
    {&plag_hypothesis_ridge, 0.080},
    {&plag_hypothesis_slow, 0.050},
    {&plag_hypothesis_short_travel, 0.040},
    {&plag_hypothesis_jam_inside, 0.045},
    {&plag_hypothesis_jam_past_stop, 0.035},
    {&plag_hypothesis_no_drive, 0.035},
    {&plag_hypothesis_weak_drive, 0.015},
    {&plag_hypothesis_weak_drive_short, 0.010},
    {&plag_hypothesis_open_or_shorted, 0.040},
    {&plag_hypothesis_shorted_low, 0.025},
    {&plag_hypothesis_frozen_signal, 0.010},
    {&plag_hypothesis_freezing_signal, 0.005},
    {&plag_hypothesis_dropouts, 0.030},
    {&plag_hypothesis_worn_spot, 0.020},
    {&plag_hypothesis_sagging_reference, 0.008},
    {&plag_hypothesis_noisy_signal, 0.015},
    {&plag_hypothesis_shift, 0.020},
    {&plag_hypothesis_drifting_signal, 0.010},
    {&plag_hypothesis_scaled_span, 0.015},
    {&plag_hypothesis_friction_and_dropouts, 0.008},
    {&plag_hypothesis_ridge_and_dropouts, 0.006},
    {&plag_hypothesis_slow_and_dropouts, 0.004},
    {&plag_hypothesis_dropouts_and_friction, 0.007},
};

size_t plag_hypothesis_count(void) {
  static_assert(sizeof row / sizeof row[0] <= PLAG_HYPOTHESIS_MOST, "grow PLAG_HYPOTHESIS_MOST");
  return sizeof row / sizeof row[0];
}

const plag_hypothesis_row *plag_hypothesis_at(size_t index) {
  assert(index < plag_hypothesis_count());
  return &row[index];
}

double plag_hypothesis_log_likelihood(const plag_hypothesis *hypothesis, const plag_facts *facts,
                                      double by_feature[PLAG_FEATURE_COUNT]) {
  plag_expectation expected;
  hypothesis->expect(facts, &expected);
  plag_learned_apply(hypothesis, facts, &expected);
  return plag_features_score(facts, &expected, by_feature);
}
