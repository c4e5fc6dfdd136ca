/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The frame of a page that needs nothing from outside. Its policy names the style and the script
 * that the library brings by their hashes; nothing else is let in, so that even a text that slipped
 * through unescaped could not run. */
#ifndef PLAG_CORE_HTML_PAGE_H
#define PLAG_CORE_HTML_PAGE_H

#include "core/page/assets.h"
#include "core/text.h"

void plag_html_asset_add(plag_text *out, const plag_asset *asset);

/* From the first byte into the title; the title's words are the caller's. */
void plag_html_head_begin(plag_text *out, const plag_asset *policy);

/* From the end of the title to the begin of the body. `script` may be NULL. */
void plag_html_head_end(plag_text *out, const plag_asset *style, const plag_asset *script);

/* Marks for the eye, of another shape each, in a box of 24 by 24; words say the same. */
extern const char plag_html_mark_good[], plag_html_mark_bad[], plag_html_mark_open[];

/* Places in an SVG whose box is the plotting area, so that letters keep their size at every width:
 * an attribute in percent, and a straight line from edge to edge. */
void plag_html_percent_add(plag_text *out, const char *name, double percent);
void plag_html_rule_add(plag_text *out, const char *class, bool across, double percent);

#endif
