/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The finding in one sentence with its figures, as a mechanic reads it. */
#ifndef PLAG_JUDGE_SENTENCE_H
#define PLAG_JUDGE_SENTENCE_H

#include "core/arena.h"
#include "judge/posterior.h"

/* What is seen. `finding` is decided; `posterior` tells what else was near. NULL without memory. */
const char *plag_sentence_compose(const platelag_finding *finding, const platelag_fit *fit,
                                  const platelag_valve_spec *spec, const plag_facts *facts,
                                  const plag_posterior *posterior, plag_arena *arena);

/* What the finding leaves open of whose fault it is, to be told behind the sentence: " ...", or "".
 * Of a case it is what all captures and readings together leave open. Static. */
const char *plag_sentence_doubt(const platelag_finding *finding, const platelag_fit *fit);

#endif
