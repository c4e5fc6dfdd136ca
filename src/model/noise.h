/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Noise of the readings while the plates are still. */
#ifndef PLAG_MODEL_NOISE_H
#define PLAG_MODEL_NOISE_H

#include "model/parts.h"

/* Standard deviation of one reading, % of travel: from second differences, those of moving
 * plates clipped away; at least the resolution's share, quantum / sqrt(12). Linear in the samples,
 * of which at most some ten thousand are looked at. Sets model->noise_pct. */
platelag_status plag_noise_measure(plag_model *model, platelag_error *error);

/* The resolution in % of travel; 0 when it is unknown, or when the smallest step seen is too large
 * to be one: plates that move in jumps only look like a coarse converter. */
double plag_quantum_pct(const platelag_trace *trace);

#endif
