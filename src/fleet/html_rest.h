/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands around the ranking: counts, filters, limits, files that were not judged, notes. */
#ifndef PLAG_FLEET_HTML_REST_H
#define PLAG_FLEET_HTML_REST_H

#include "fleet/html_valve.h"

/* How many valves stand where, and the filters. */
void plag_html_standings_add(plag_html_sheet *sheet);
void plag_html_filters_add(plag_html_sheet *sheet);

/* Limits by engine family; files that gave no result, the first of them; notes and the command that
 * makes a capture's report. */
void plag_html_limits_add(plag_html_sheet *sheet);
void plag_html_troubles_add(plag_html_sheet *sheet);
void plag_html_notes_add(plag_html_sheet *sheet);

#endif
