/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a search has found, as figures with intervals. */
#ifndef PLAG_MODEL_FRICTION_REPORT_H
#define PLAG_MODEL_FRICTION_REPORT_H

#include "model/friction_search.h"

/* How many samples count as one: within a movement residuals are alike, and a release at the wrong
 * moment makes every sample until the next one wrong. `n`: the normal equations of the place. */
double plag_friction_samples_as_one(const plag_friction_normal *n);

/* Stick band and slip jump at `best`, as upper limits where they are not `resolved`. `n`: its
 * normal equations; s->walk is still the walk that they were gathered from. */
void plag_friction_report_values(plag_friction_search *s, const plag_friction_place *best,
                                 const plag_friction_normal *n, double as_one, bool resolved);

/* Free plates explain as much: the widest band that is not ruled out, whatever its jump. */
void plag_friction_report_limit(plag_friction_search *s, const plag_friction_place *none,
                                double as_one);

/* An on/off command: all that shows is which reversals moved the plates. */
void plag_friction_report_bracket(plag_model *model);

#endif
