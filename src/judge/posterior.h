/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the facts to probabilities of hypotheses, findings and families. */
#ifndef PLAG_JUDGE_POSTERIOR_H
#define PLAG_JUDGE_POSTERIOR_H

#include "judge/hypothesis.h"

typedef struct plag_posterior {
  double log_likelihood[PLAG_HYPOTHESIS_MOST];
  double by_feature[PLAG_HYPOTHESIS_MOST][PLAG_FEATURE_COUNT];
  double probability[PLAG_HYPOTHESIS_MOST];
  double family[PLATELAG_FAMILY_COUNT];
  double finding[PLATELAG_FINDING_COUNT];
  platelag_finding_kind best; /* the likeliest finding, whether sure or not */
  platelag_finding_kind second;
  platelag_family likeliest; /* family, or undecided below decide_at */
} plag_posterior;

/* Scores every hypothesis on the facts. Pure. */
void plag_posterior_weigh(const plag_facts *facts, double decide_at, plag_posterior *posterior);

/* Sums `posterior->probability` over families and findings and picks the likeliest.
 * `rails_hidden`: a signal that the record cannot show past a rail is seen as one that stands
 * still. `settled`: a hand sweep or a meter has told plates and sensor apart. */
void plag_posterior_sum(plag_posterior *posterior, bool rails_hidden, bool settled,
                        double decide_at);

#endif
