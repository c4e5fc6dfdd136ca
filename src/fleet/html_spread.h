/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a figure lies over the fleet: a histogram for each. */
#ifndef PLAG_FLEET_HTML_SPREAD_H
#define PLAG_FLEET_HTML_SPREAD_H

#include "fleet/html_valve.h"

enum { PLAG_SPREAD_BINS = 32 };

/* Bins of equal, round width from a round begin. What lies far out is counted apart, so that the
 * many keep their shape. */
typedef struct plag_spread {
  size_t total;
  double median;
  double from, width;
  size_t bins; /* 0: there is nothing to be seen */
  size_t count[PLAG_SPREAD_BINS];
  size_t below, above;
} plag_spread;

/* Counts `count` finite values, whose order changes. Width after Freedman and Diaconis,
 * Zeitschrift fuer Wahrscheinlichkeitstheorie 57 (1981) 453; far out is beyond ten times the
 * distance of the quartiles, but never a limit (`limit`, the highest; NaN: none). */
plag_spread plag_spread_of(double *value, size_t count, double limit);

/* The section of all figures. False without memory. */
bool plag_html_spreads_add(plag_html_sheet *sheet);

#endif
