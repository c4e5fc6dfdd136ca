/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences with figures in them. */
#ifndef PLAG_CORE_WORDS_H
#define PLAG_CORE_WORDS_H

#include "core/arena.h"

/* A sentence in `arena`: each "#0" to "#9" in `pattern` becomes the next double argument with that
 * many decimals ("-" for NaN), each "#s" the next string, each "#c" a count of things, "1 dropout"
 * or "3 dropouts", of a double and the string "dropout". Arguments are doubles and strings only.
 * NULL without memory, and where a string is NULL because a part of the sentence had none. */
const char *plag_words(plag_arena *arena, const char *pattern, ...);

/* A probability in percent, "93 %", but never all of it: "over 99 %". In `room`, which it returns.
 */
enum { PLAG_PROBABILITY_BYTES = 16 };
const char *plag_probability_words(double probability, char room[PLAG_PROBABILITY_BYTES]);

#endif
