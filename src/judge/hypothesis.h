/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The hypotheses: each a description of how the record came about, one file each, and the one list
 * of them with their priors. A new one is a file, a line below and a line in the list. */
#ifndef PLAG_JUDGE_HYPOTHESIS_H
#define PLAG_JUDGE_HYPOTHESIS_H

#include "judge/features.h"

/* Hypotheses that look alike in a record and are calibrated together. */
typedef enum plag_group {
  PLAG_GROUP_MOVING,
  PLAG_GROUP_MIXED, /* two troubles at once */
  PLAG_GROUP_STILL,
  PLAG_GROUP_HIGH,
  PLAG_GROUP_LOW,
  PLAG_GROUP_COUNT
} plag_group;

typedef struct plag_hypothesis {
  const char *name;
  platelag_family family;
  platelag_finding_kind finding;
  plag_group group;
  void (*expect)(const plag_facts *facts, plag_expectation *expected);
} plag_hypothesis;

extern const plag_hypothesis plag_hypothesis_free;
extern const plag_hypothesis plag_hypothesis_slight_drift;
extern const plag_hypothesis plag_hypothesis_friction;
extern const plag_hypothesis plag_hypothesis_slow;
extern const plag_hypothesis plag_hypothesis_ridge;
extern const plag_hypothesis plag_hypothesis_jam_inside;
extern const plag_hypothesis plag_hypothesis_jam_past_stop;
extern const plag_hypothesis plag_hypothesis_short_travel;
extern const plag_hypothesis plag_hypothesis_no_drive;
extern const plag_hypothesis plag_hypothesis_weak_drive;
extern const plag_hypothesis plag_hypothesis_weak_drive_short;
extern const plag_hypothesis plag_hypothesis_open_or_shorted;
extern const plag_hypothesis plag_hypothesis_shorted_low;
extern const plag_hypothesis plag_hypothesis_frozen_signal;
extern const plag_hypothesis plag_hypothesis_freezing_signal;
extern const plag_hypothesis plag_hypothesis_dropouts;
extern const plag_hypothesis plag_hypothesis_worn_spot;
extern const plag_hypothesis plag_hypothesis_sagging_reference;
extern const plag_hypothesis plag_hypothesis_noisy_signal;
extern const plag_hypothesis plag_hypothesis_shift;
extern const plag_hypothesis plag_hypothesis_drifting_signal;
extern const plag_hypothesis plag_hypothesis_scaled_span;
extern const plag_hypothesis plag_hypothesis_friction_and_dropouts;
extern const plag_hypothesis plag_hypothesis_ridge_and_dropouts;
extern const plag_hypothesis plag_hypothesis_slow_and_dropouts;
extern const plag_hypothesis plag_hypothesis_dropouts_and_friction;

typedef struct plag_hypothesis_row {
  const plag_hypothesis *hypothesis;
  double prior;
} plag_hypothesis_row;

#define PLAG_HYPOTHESIS_MOST 32

size_t plag_hypothesis_count(void);
const plag_hypothesis_row *plag_hypothesis_at(size_t index);

/* Log likelihood of the facts under a hypothesis, and each fact's part of it. */
double plag_hypothesis_log_likelihood(const plag_hypothesis *hypothesis, const plag_facts *facts,
                                      double by_feature[PLAG_FEATURE_COUNT]);

#endif
