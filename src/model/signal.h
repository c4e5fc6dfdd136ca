/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures of the signal itself; no response is needed. */
#ifndef PLAG_MODEL_SIGNAL_H
#define PLAG_MODEL_SIGNAL_H

#include "model/guess.h"
#include "model/parts.h"

/* Sets fit->signal, once the modes are known; jumps come with the held intervals. */
platelag_status plag_signal_measure(plag_model *model, const plag_guess *guess,
                                    platelag_error *error);

/* signal_rails.c: how long at the rails, and how noisy there. */
platelag_status plag_signal_measure_rails(plag_model *model, platelag_error *error);

/* signal_voids.c: void spans, where they begin and whether they come back. */
platelag_status plag_signal_measure_voids(plag_model *model, const plag_guess *guess,
                                          platelag_error *error);

#endif
