/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The stiction element with the lag ahead of it: a drive whose pull builds up slowly (a diaphragm
 * that fills, a worm that winds a spring up) on plates that answer at once. They stand while the
 * pull that has been built up stays below what lets them go, jump then, and stop when it turns.
 * Karnopp, ASME J. Dyn. Syst. Meas. Control 107 (1985) 100, without mass. */
#ifndef PLAG_MODEL_FRICTION_AHEAD_H
#define PLAG_MODEL_FRICTION_AHEAD_H

#include "model/friction_plates.h"

/* Walks the whole record, whose moments are in order for the lag of `plates`; with derivatives or
 * without. Fills `walk` as plag_friction_walk_go does. */
void plag_friction_ahead_walk(const plag_friction_record *record, const plag_friction_model *plates,
                              plag_friction_walk *walk, bool derive);

/* As plag_friction_walk_cost. */
double plag_friction_ahead_cost(const plag_friction_record *record,
                                const plag_friction_model *plates, double noise_pct,
                                plag_friction_cell *cell);

#endif
