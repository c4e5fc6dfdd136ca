/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Evidence rows: what each fact does to the families, so that the report's reasons are the
 * judgement's own. */
#ifndef PLAG_JUDGE_EVIDENCE_H
#define PLAG_JUDGE_EVIDENCE_H

#include "core/arena.h"
#include "judge/posterior.h"

/* Rows of the present facts into `arena`, heaviest first, at most PLAG_EVIDENCE_ROWS. A fact
 * speaks for the family that makes it likelier than the others do; its weight is the natural log
 * of that Bayes factor, the hypotheses of a side weighed by their probabilities and, a little, by
 * their priors. The heaviest fact, and what the user tested, is told however light it is. False
 * without memory. */
bool plag_evidence_collect(const plag_facts *facts, const plag_posterior *posterior,
                           plag_arena *arena, const platelag_evidence **rows, size_t *count);

#define PLAG_EVIDENCE_ROWS 10

/* For qsort. Reasons of one weight in the order of their words, so that every build tells them
 * alike. */
int plag_evidence_heavier_first(const void *a, const void *b);

#endif
