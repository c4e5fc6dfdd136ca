/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Limits that the held intervals and their users share. */
#ifndef PLAG_MODEL_HELD_H
#define PLAG_MODEL_HELD_H

#include "model/parts.h"

/* The pull that counts, % of travel: two thirds or so of the stick band that the spec allows, and
 * clear of noise. Plates of a healthy valve rub too. */
double plag_held_least_pull_pct(const plag_model *model);

/* How far a reading may stray while the plates stand. */
double plag_held_band_pct(const plag_model *model);

/* Intervals in which the plates withstood a pull of at least `least_pull_pct` for `least_s`, into
 * `held` (room for `room`); returns how many there are room for. Nothing is marked or counted.
 * Smaller and shorter ones than held intervals tell of friction too, but each one alone proves
 * nothing. */
size_t plag_held_list(plag_model *model, double least_pull_pct, double least_s, platelag_held *held,
                      size_t room);

/* spans.c: marks what rests at an end of the fitted map as AT_STOP and lists fit->span. */
platelag_status plag_spans_list(plag_model *model, platelag_error *error);

#endif
