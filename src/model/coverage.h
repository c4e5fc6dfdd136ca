/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PLAG_MODEL_COVERAGE_H
#define PLAG_MODEL_COVERAGE_H

#include "model/guess.h"
#include "model/parts.h"

/* Sets fit->coverage without samples_per_move, which needs the response. */
platelag_status plag_coverage_measure(plag_model *model, const plag_guess *guess,
                                      platelag_error *error);

#endif
