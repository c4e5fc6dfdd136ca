/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PLAG_MODEL_FROZEN_H
#define PLAG_MODEL_FROZEN_H

#include "model/guess.h"
#include "model/parts.h"

/* Marks stretches of exactly repeated readings, unlikely by the dither that the same trace shows
 * elsewhere, during which the command moved. */
void plag_frozen_mark(plag_model *model, const plag_guess *guess);

#endif
