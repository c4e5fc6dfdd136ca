/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which readings no plate can have made: an exact Viterbi decode of a two-mode switching model
 * (following, void). Every reading is judged against the last valid one, so that a void reading
 * does not make the next good one look like a jump (Markov-switching autoregression, Hamilton,
 * Econometrica 57 (1989) 357-384; here the position is seen almost directly). */
#ifndef PLAG_MODEL_DECODE_H
#define PLAG_MODEL_DECODE_H

#include "model/guess.h"
#include "model/parts.h"

/* Marks void readings in model->mode as PLATELAG_MODE_ERRATIC and all others as FOLLOWING. Needs
 * noise_pct. Linear in the samples; needs no memory beside the modes, which hold the back-pointers
 * until the way back is found. */
void plag_decode_void(plag_model *model, const plag_guess *guess);

#endif
