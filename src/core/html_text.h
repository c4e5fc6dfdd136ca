/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text as HTML and SVG want it. Every text of a page goes through here. */
#ifndef PLAG_CORE_HTML_TEXT_H
#define PLAG_CORE_HTML_TEXT_H

#include "core/text.h"

/* Adds the text of a document block (valid UTF-8 without control characters), as an element's
 * content or inside a quoted attribute. */
void plag_html_text_add(plag_text *out, const char *text);

/* The same for content alone: words that are written from right to left are set apart, so that they
 * do not turn what stands around them. */
void plag_html_prose_add(plag_text *out, const char *text);

/* The same for any bytes, such as names that come from files: made harmless first (core/escape.h).
 */
void plag_html_name_add(plag_text *out, const char *text);

#endif
