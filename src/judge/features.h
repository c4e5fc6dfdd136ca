/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of features: how each fact is scored under an expectation and how it is told. */
#ifndef PLAG_JUDGE_FEATURES_H
#define PLAG_JUDGE_FEATURES_H

#include "judge/expectation.h"

typedef struct plag_feature_row {
  const char *what; /* as an evidence row says it */
  const char *unit;
  double (*log_density)(const plag_facts *facts, const plag_expectation *expected);
} plag_feature_row;

/* The row of a feature. Lent, static. */
const plag_feature_row *plag_feature_at(plag_feature feature);

/* Log density of every present fact into `by_feature` (0 for the others). Returns their sum. */
double plag_features_score(const plag_facts *facts, const plag_expectation *expected,
                           double by_feature[PLAG_FEATURE_COUNT]);

#endif
