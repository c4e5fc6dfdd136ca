/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Making a finding object: what captures and cases share. */
#ifndef PLAG_JUDGE_BUILD_H
#define PLAG_JUDGE_BUILD_H

#include "core/arena.h"
#include "judge/posterior.h"

struct plag_finding_store {
  plag_arena arena;
  const char *seen; /* the sentence without what it leaves open: what a case goes on from */
};

/* An empty finding with its own arena; NULL without memory. */
platelag_finding *plag_finding_begin(void);

/* Copies probabilities and hypotheses of the posterior, and decides: the likeliest finding where it
 * is sure enough and not `blocked`, else undecided. False without memory. */
bool plag_finding_decide(platelag_finding *finding, const plag_posterior *posterior,
                         const bool *blocked, double decide_at);

/* Copies the sentences of what is lacking; false without memory. */
bool plag_finding_lack(platelag_finding *finding, const char *const *sentence, size_t count);

#endif
