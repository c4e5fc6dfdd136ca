/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Words of enumerations, as the store keeps them, and back. */
#ifndef PLAG_FLEET_KNOWN_WORDS_H
#define PLAG_FLEET_KNOWN_WORDS_H

#include "platelag/finding.h"

const char *plag_known_word(platelag_known known);

/* What a word of the store means; undecided, or nothing, for a word of a newer program. */
platelag_known plag_known_of(const char *word);
platelag_finding_kind plag_finding_of(const char *word);
platelag_family plag_family_of(const char *word);

#endif
