/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether the command is changed by the recorder itself, on its rows. Changes that fall anywhere
 * between two rows scatter evenly over the bracket, with a variance of width^2 / 12 that nothing
 * can hide; changes on the rows do not scatter. What is systematic in the fit's error moves their
 * mean, not their scatter. */
#ifndef PLAG_MODEL_ON_ROWS_H
#define PLAG_MODEL_ON_ROWS_H

#include "model/walk.h"

/* `model` is close to the best with `on_rows` set. */
bool plag_changes_are_on_rows(const plag_stretches *stretches, const plag_walk_model *model);

#endif
