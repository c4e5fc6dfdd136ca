/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences with figures in them. */
#ifndef PLAG_JUDGE_WORDS_H
#define PLAG_JUDGE_WORDS_H

#include "core/arena.h"
#include "platelag/fit.h"

/* A sentence in `arena`: each "#0" to "#9" in `pattern` becomes the next double argument with that
 * many decimals ("-" for NaN), each "#s" the next string, each "#c" a count of things, "1 dropout"
 * or "3 dropouts", of a double and the string "dropout". Arguments are doubles and strings only.
 * NULL without memory, and where a string is NULL because a part of the sentence had none. */
const char *plag_words(plag_arena *arena, const char *pattern, ...);

/* "0.23 s", "at most 0.41 s", "0.30 to 0.52 s", "not measured"; up to 2 decimals. NULL without
 * memory. */
const char *plag_words_estimate(plag_arena *arena, const platelag_estimate *estimate, int decimals,
                                const char *unit);

#endif
