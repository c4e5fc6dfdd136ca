/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a review says, in the order in which it is read; no format. */
#ifndef PLAG_REPORT_COMPOSE_H
#define PLAG_REPORT_COMPOSE_H

#include "platelag/review.h"

#include "report/document.h"

/* Adds the whole review. Memory that runs out sticks in `document->failed`. */
void plag_compose_review(plag_document *document, const platelag_review *review);

/* Its parts: what is said of one valve over all captures, and how the captures were read. */
void plag_compose_case(plag_document *document, const platelag_review *review, size_t case_index);
void plag_compose_reading(plag_document *document, const platelag_review *review);

/* Drafts the name of a capture: "road", "road 2" where there are several, with the label of its
 * run. */
void plag_compose_say_title(plag_document *document, const platelag_review *review, size_t index);

/* The parts of a case and of its finding. */
void plag_compose_verdict(plag_document *document, const platelag_case *judged);
void plag_compose_next_tests(plag_document *document, const platelag_case *judged);
void plag_compose_families(plag_document *document, const platelag_finding *finding);
void plag_compose_checks(plag_document *document, const platelag_finding *finding);
void plag_compose_reasons(plag_document *document, const platelag_finding *finding);
void plag_compose_codes(plag_document *document, const platelag_finding *finding);

/* Families below this probability are no longer open: nothing need tell them apart. */
#define PLAG_COMPOSE_OPEN_FROM 0.05
/* The families in order of probability, those alike in their own order. */
void plag_compose_rank(const platelag_finding *finding,
                       platelag_family order[PLATELAG_FAMILY_COUNT]);

/* Captures that one table of figures holds. */
enum { PLAG_FIGURE_CAPTURES = 3 };

/* A table of figures with intervals and limits: of one capture of a valve, or of up to
 * PLAG_FIGURE_CAPTURES side by side, each under its `title`. Returns whether it tells a t63. */
bool plag_compose_figures(plag_document *document, const platelag_review_valve *const *valve,
                          const char *const *title, size_t count);

#endif
