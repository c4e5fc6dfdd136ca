/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Estimates in sentences. */
#ifndef PLAG_JUDGE_WORDS_H
#define PLAG_JUDGE_WORDS_H

#include "core/words.h"
#include "platelag/fit.h"

/* "0.23 s", "at most 0.41 s", "0.30 to 0.52 s", "not measured"; up to 2 decimals. NULL without
 * memory. */
const char *plag_words_estimate(plag_arena *arena, const platelag_estimate *estimate, int decimals,
                                const char *unit);

#endif
