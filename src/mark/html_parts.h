/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pieces that the class's and the students' pages are put together from. Every text goes through
 * core/html_text.h. */
#ifndef PLAG_MARK_HTML_PARTS_H
#define PLAG_MARK_HTML_PARTS_H

#include "core/html_text.h"
#include "platelag/mark.h"

/* "<tag class="class">text</tag>"; `class` may be NULL. */
void plag_mark_element_add(plag_text *out, const char *tag, const char *class, const char *text);

/* A reason or an advice as a sentence: its first letter large, a full stop at its end. */
void plag_mark_sentence_add(plag_text *out, const char *text);

/* A whole number, and what it counts: "1 remark", "3 remarks". */
void plag_mark_count_add(plag_text *out, size_t count, const char *thing);

/* "12.5": points with as few decimals as tell them, one at most. */
void plag_mark_points_add(plag_text *out, double points);

/* "12.5 of 25". */
void plag_mark_points_of_add(plag_text *out, double points, double of);

/* A bar of `share` (0..1), for the eye; the figure stands beside it. */
void plag_mark_bar_add(plag_text *out, double share);

/* " class="NAME s7"": the share of a cell's bar in tenths. */
void plag_mark_cell_class_add(plag_text *out, const char *name, double share);

/* The criterion's title with a large first letter. */
void plag_mark_title_add(plag_text *out, size_t criterion);

/* A key ("signal_high") in words ("signal high"). */
void plag_mark_key_add(plag_text *out, const char *key);

/* The page's end, with the caution. */
void plag_mark_footer_add(plag_text *out, const char *words);

#endif
