/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One valve in the page: a row of the ranking, a row with all its reasons, and its figures for the
 * script. */
#ifndef PLAG_FLEET_HTML_VALVE_H
#define PLAG_FLEET_HTML_VALVE_H

#include "core/text.h"
#include "fleet/book.h"

/* The page while it is written. */
typedef struct plag_html_sheet {
  plag_text out;
  const platelag_fleet *fleet;
  const platelag_fleet_page *page;
  bool with_engines; /* some valve has an engine family */
} plag_html_sheet;

/* A mark of each standing, once a page, for the rows to refer to; and a reference to one. */
void plag_html_marks_add(plag_text *out);
void plag_html_mark_add(plag_text *out, platelag_fleet_standing standing);

/* The figure that a valve's row shows: that of its trend where it stands out from the fleet, else
 * the one nearest its limit. */
size_t plag_html_figure_of(const platelag_fleet_valve *valve);

/* Words for a key: "signal high" for "signal_high". */
void plag_html_key_add(plag_text *out, const char *key);

/* Adds the table's head, and the rows of the valve at `index`. */
void plag_html_ranking_head_add(plag_html_sheet *sheet);
void plag_html_valve_add(plag_html_sheet *sheet, size_t index, const platelag_fleet_logs *logs);

/* What the script needs: of a valve (html_data.c), and of the page. Both are JSON in an element of
 * their own. */
void plag_html_valve_data_add(plag_html_sheet *sheet, size_t index,
                              const platelag_fleet_logs *logs);
void plag_html_page_data_add(plag_html_sheet *sheet);

/* Whether the report of a capture is there. */
bool plag_html_has_report(const plag_html_sheet *sheet, const char *key);
/* Its address. */
void plag_html_report_address_add(plag_html_sheet *sheet, const char *key);

#endif
