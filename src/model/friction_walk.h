/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The stiction element with dead time and lag, simulated over a record: predictions, what the
 * unknown moments of changes add to their variance, and how they depend on the parameters. */
#ifndef PLAG_MODEL_FRICTION_WALK_H
#define PLAG_MODEL_FRICTION_WALK_H

#include "model/friction_plates.h"

/* Takes the arrays from the workspace; false without memory. */
bool plag_friction_walk_take(plag_model *model, size_t samples, plag_friction_walk *walk);

/* Predicts every sample; puts the record in order for the model's lag first. */
void plag_friction_walk_go(plag_friction_record *record, const plag_friction_model *plates,
                           plag_friction_walk *walk);

/* The same with derivatives. */
void plag_friction_walk_derive(plag_friction_record *record, const plag_friction_model *plates,
                               plag_friction_walk *walk);

/* Minus the log likelihood of the readings with this noise, and the cell; keeps no predictions,
 * which is faster. */
double plag_friction_walk_cost(plag_friction_record *record, const plag_friction_model *plates,
                               double noise_pct, plag_friction_cell *cell);

#endif
