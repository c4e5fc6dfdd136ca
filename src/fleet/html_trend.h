/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A figure over a valve's logs as a small picture: points with their intervals, repairs, the limit,
 * and the line through them where it tells something. */
#ifndef PLAG_FLEET_HTML_TREND_H
#define PLAG_FLEET_HTML_TREND_H

#include "core/text.h"
#include "fleet/book.h"

typedef struct plag_html_trend {
  const platelag_fleet_logs *logs;
  size_t figure;
  const plag_page *page; /* of the valve */
  bool with_line;        /* through the present series */
} plag_html_trend;

/* Adds the picture, an SVG; nothing where no log shows the figure, or one
 * alone and no limit. */
void plag_html_trend_add(plag_text *out, const plag_html_trend *trend);

#endif
