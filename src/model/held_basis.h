/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a search for held intervals rests on: the map, the lag, where the plates go. While nothing
 * of it changes the intervals that were found stand, and the record need not be walked again. */
#ifndef PLAG_MODEL_HELD_BASIS_H
#define PLAG_MODEL_HELD_BASIS_H

#include "model/parts.h"

/* Whether the last search rested on the same; if not, remembers what this one does. Without memory
 * nothing is remembered. */
bool plag_held_basis_stands(plag_model *model);

#endif
