/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What practice captures of the first setting taught: numbers that take the place of those a
 * hypothesis states, and how far each fact is believed. `scripts/learn` makes the tables anew. */
#ifndef PLAG_JUDGE_LEARNED_H
#define PLAG_JUDGE_LEARNED_H

#include "judge/hypothesis.h"

/* Recordings whose facts are spread differently. */
typedef enum plag_style {
  PLAG_STYLE_DUTY,
  PLAG_STYLE_TWO_LEVEL,
  PLAG_STYLE_DESIRED,
  PLAG_STYLE_LOOP, /* a duty that follows the position */
  PLAG_STYLE_COUNT,
  PLAG_STYLE_ANY = PLAG_STYLE_COUNT
} plag_style;

plag_style plag_learned_style(const plag_facts *facts);

/* The two numbers of a density, in the order of its struct in density.h; one alone has b = 0. */
typedef struct plag_learned_row {
  const char *hypothesis;
  plag_feature feature;
  plag_style style;
  double a, b;
} plag_learned_row;

/* Under this name stands what was learned of all captures whose fault leaves a fact as it is. */
#define PLAG_LEARNED_USUAL "free"

/* Whether a hypothesis says of a fact something else than the healthy valve does. */
bool plag_learned_states(const plag_hypothesis *hypothesis, const plag_facts *facts,
                         plag_feature feature);

/* Puts what was learned in the place of what a hypothesis states, and of the healthy valve where it
 * states nothing. */
void plag_learned_apply(const plag_hypothesis *hypothesis, const plag_facts *facts,
                        plag_expectation *expected);

/* By how much the log density of a fact is multiplied: facts go together, and each counts for less
 * than it would alone. */
double plag_learned_weight(plag_feature feature);

#endif
