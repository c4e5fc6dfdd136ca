/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Limits that the held intervals and their users share. */
#ifndef PLAG_MODEL_HELD_H
#define PLAG_MODEL_HELD_H

#include "model/parts.h"

/* The pull that counts, % of travel: half the stick band that the spec allows, and clear of noise.
 * Plates of a healthy valve rub too. */
double plag_held_least_pull_pct(const plag_model *model);

/* How far a reading may stray while the plates stand. */
double plag_held_band_pct(const plag_model *model);

/* spans.c: marks what rests at an end of the fitted map as AT_STOP and lists fit->span. */
platelag_status plag_spans_list(plag_model *model, platelag_error *error);

#endif
