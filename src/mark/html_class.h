/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts of the instructor's page, each a section. */
#ifndef PLAG_MARK_HTML_CLASS_H
#define PLAG_MARK_HTML_CLASS_H

#include "mark/html_parts.h"
#include "mark/tally.h"

/* How the class did: its figures and the spread of percents. */
void plag_mark_overview_add(plag_text *out, const platelag_class *marked, const plag_tally *tally);
/* Each criterion over the class, that cost most first. */
void plag_mark_criteria_add(plag_text *out, const plag_tally *tally);
/* All submissions, a row each; a name leads to what is told of it below. */
void plag_mark_table_add(plag_text *out, const platelag_class *marked, const plag_tally *tally);
/* Recordings that are alike, what was not marked, remarks; nothing where there are none. */
void plag_mark_likenesses_add(plag_text *out, const platelag_class *marked);
void plag_mark_unmarked_add(plag_text *out, const platelag_class *marked);
void plag_mark_remarks_add(plag_text *out, const platelag_class *marked);
/* Each submission with every mark, to be opened. */
void plag_mark_details_add(plag_text *out, const platelag_class *marked);

/* A submission's name as a link to its details. */
void plag_mark_link_add(plag_text *out, const platelag_class *marked, size_t submission);

#endif
