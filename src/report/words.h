/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The words that reports use for findings, families and figures. */
#ifndef PLAG_REPORT_WORDS_H
#define PLAG_REPORT_WORDS_H

#include "platelag/finding.h"

#include "core/text.h"
#include "report/document.h"

/* "STICKING"; what stands at the top of a report. */
const char *plag_words_finding(platelag_finding_kind kind);
/* What the finding means, for the case that the judgement gives no sentence. */
const char *plag_words_meaning(platelag_finding_kind kind);
/* "plates or shaft". */
const char *plag_words_family(platelag_family family);
const char *plag_words_check(platelag_check_kind kind);
const char *plag_words_result(platelag_check result);
const char *plag_words_condition(platelag_condition condition);
/* "REPAIRED"; "" without a capture after the repair. */
const char *plag_words_repair(platelag_repair repair);
/* Whether a figure in this unit tells a mechanic something; log odds and test statistics do not,
 * and their weight says as much in words. */
bool plag_words_has_plain_unit(const char *unit);
/* The unit as it stands behind a value: "dropouts", and "dropout" behind 1. Static, or `unit`. */
const char *plag_words_unit(const char *unit, double value);
/* "slight", "fair", "strong" or "very strong", from the natural log of a Bayes factor. */
#define PLAG_WORDS_FAIR   1.0
#define PLAG_WORDS_STRONG 3.0
const char *plag_words_weight(double weight);

/* A probability as it is told: "85 %", "<1 %", ">99 %". */
void plag_words_add_share(plag_text *out, double share);

/* Drafts the value of an estimate, "0.38", "at most 0.10", "3.1 to 9.8"; and its interval. */
void plag_words_say_value(plag_document *document, const platelag_estimate *estimate, int decimals);
void plag_words_say_interval(plag_document *document, const platelag_estimate *estimate,
                             int decimals);

/* How an estimate stands to a limit it should not pass: "within", "over", "borderline" where the
 * interval holds the limit, "cannot tell", or "" without a limit (NaN or not above 0). */
const char *plag_words_against(const platelag_estimate *estimate, double limit);

#endif
