/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The captures of one valve, brought together. */
#ifndef PLAG_REVIEW_CASES_H
#define PLAG_REVIEW_CASES_H

#include "review/store.h"

/* Judges a case for each valve over the entries of the review, in order of first appearance. */
platelag_status plag_review_judge_cases(plag_review_store *store, const platelag_spec *spec,
                                        const platelag_circumstances *circumstances,
                                        platelag_error *error);

#endif
