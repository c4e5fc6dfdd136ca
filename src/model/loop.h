/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is measured once the loop is known to be closed; plag_loop_look is told in parts.h. */
#ifndef PLAG_MODEL_LOOP_H
#define PLAG_MODEL_LOOP_H

#include "model/parts.h"

/* loop_effort.c: how far the effort climbed over the held intervals, once these are known, and
 * friction by the effort, which the command's steps do not show in a closed loop. */
platelag_status plag_loop_measure_effort(plag_model *model, platelag_error *error);

#endif
