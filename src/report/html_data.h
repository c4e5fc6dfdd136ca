/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The numbers of plots for the page's own script: whole numbers, each less the one before. No text
 * goes in but keys that the program brings. */
#ifndef PLAG_REPORT_HTML_DATA_H
#define PLAG_REPORT_HTML_DATA_H

#include "core/text.h"
#include "report/plots.h"

/* Adds what the script draws of one capture as an object: command and position over time, and what
 * of the loop it cannot make of these. Nothing where there is no such plot; true where there was.
 */
bool plag_html_data_add(plag_text *out, const plag_plots *plots, size_t id, size_t capture);

#endif
