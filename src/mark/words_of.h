/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What people write into keys and answers, read kindly: whatever the case, with blanks or hyphens
 * for underscores, and by the usual other words. */
#ifndef PLAG_MARK_WORDS_OF_H
#define PLAG_MARK_WORDS_OF_H

#include "platelag/finding.h"

/* Whether two names are one but for blanks, points and the case of ASCII letters. */
bool plag_same_name(const char *one, const char *other);

/* False for a word that means none of them; nothing at all is false too. */
bool plag_read_finding(const char *text, platelag_finding_kind *out);
bool plag_read_family(const char *text, platelag_family *out);
bool plag_read_verdict(const char *text, platelag_code_verdict *out);
bool plag_read_condition(const char *text, platelag_condition *out);

/* The key of a next test ("hand_sweep"), static; NULL for another word. */
const char *plag_read_test(const char *text);

/* A number, with a decimal comma or point, and a unit behind it or not; NaN for none, and for more
 * than one ("70-80"). */
double plag_read_figure(const char *text);

/* A probability, 0.8, 80 % or 80; NaN for none, one beyond 0 and 1, and a bare "1.5", which may be
 * either. */
double plag_read_probability(const char *text);

#endif
