/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plots as figures of a page: inline SVG that needs no script, with legend and words. */
#ifndef PLAG_REPORT_HTML_PLOTS_H
#define PLAG_REPORT_HTML_PLOTS_H

#include "core/text.h"
#include "report/plots.h"

/* The hatchings that spans refer to, once a page. */
void plag_html_plots_add_patterns(plag_text *out);

/* The plots of one valve: of one capture, or of several side by side. `id` makes the ids inside
 * unique. */
void plag_html_plots_add(plag_text *out, const plag_plots *plots, size_t count, size_t id);

/* The key of a look, and the id of a plot's figure, by which script and style know them. */
const char *plag_html_look(plag_look look);
void plag_html_plot_id(plag_text *out, plag_plot_kind kind, size_t id, size_t capture);

#endif
