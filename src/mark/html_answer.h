/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was concluded, in the page's words. */
#ifndef PLAG_MARK_HTML_ANSWER_H
#define PLAG_MARK_HTML_ANSWER_H

#include "mark/html_parts.h"

/* A paragraph "WHAT: sticking, mechanical, 88 % sure; next test: hand sweep"; nothing where nothing
 * was said. `marked` is a class that platelag_class_build made. */
void plag_mark_answer_add(plag_text *out, const platelag_class *marked, size_t submission,
                          const char *what);

#endif
