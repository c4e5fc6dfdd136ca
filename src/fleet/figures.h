/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The figures that a fleet is followed by: one table, read by the store, the trends and every
 * report. */
#ifndef PLAG_FLEET_FIGURES_H
#define PLAG_FLEET_FIGURES_H

#include "fleet/trend.h"
#include "platelag/fleet.h"

enum { PLAG_FIGURE_COUNT = PLATELAG_FLEET_FIGURES };

typedef struct plag_figure {
  platelag_fleet_figure_kind what;
  /* From what was fitted; KNOWN_NOTHING where it is not known. */
  platelag_estimate (*measure)(const platelag_review_valve *valve);
  double (*limit)(const platelag_valve_spec *spec); /* NULL: none */
  double share; /* of a valve's chances of a false trend; all together, with that below, 1 */
  plag_trend_side worse;
  bool learns_limit; /* where no spec is given, healthy valves of the family give one */
  bool by_sticking;  /* sticking drives it: looked at together with the others of its kind */
} plag_figure;

/* The share of the figures that sticking drives, looked at together. */
#define PLAG_STICKING_SHARE 0.58
enum { PLAG_STICKING_FIGURES = 2 };

const plag_figure *plag_figure_at(size_t index);

#endif
