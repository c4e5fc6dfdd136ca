/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines of a plot as SVG path data in a box of PLAG_SVG_WIDTH by PLAG_SVG_HEIGHT, thinned to what
 * an eye can tell apart there. */
#ifndef PLAG_REPORT_SVG_PATH_H
#define PLAG_REPORT_SVG_PATH_H

#include "core/text.h"
#include "report/plots.h"

enum { PLAG_SVG_WIDTH = 4000, PLAG_SVG_HEIGHT = 1000, PLAG_SVG_COLUMNS = 1000 };

/* Adds the path data of a line, nothing for an empty one. */
void plag_svg_path_add(plag_text *out, const plag_plot_line *line, const plag_axis *x,
                       const plag_axis *y);

#endif
