/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What loop.c does beside plag_loop_look. */
#ifndef PLAG_MODEL_LOOP_H
#define PLAG_MODEL_LOOP_H

#include "model/parts.h"

/* How far the effort climbed over the held intervals, once these are known. */
platelag_status plag_loop_measure_effort(plag_model *model, platelag_error *error);

#endif
