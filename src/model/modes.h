/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What modes.c and signal.c share. */
#ifndef PLAG_MODEL_MODES_H
#define PLAG_MODEL_MODES_H

#include "model/guess.h"
#include "model/parts.h"

/* Limits of the rails in % of the sensor reference; a stop that the spec puts past a limit moves
 * it. `visible` is false where the unit hides the rails. */
typedef struct plag_rails {
  bool visible;
  double low_pct, high_pct;
} plag_rails;

plag_rails plag_rails_of(const plag_model *model);

/* -1 at or below the low limit, 1 at or above the high one, else 0. */
int plag_rails_side(const plag_rails *rails, const platelag_trace *trace, double level);

/* frozen.c: marks stretches of exactly repeated readings, unlikely by the dither that the same
 * trace shows elsewhere, during which the command moved. */
void plag_frozen_mark(plag_model *model, const plag_guess *guess);

/* signal.c: fit->signal as far as it needs no response (jumps come with the held intervals). */
platelag_status plag_signal_measure(plag_model *model, const plag_guess *guess,
                                    platelag_error *error);

/* coverage.c: fit->coverage without samples_per_move, which needs the response. */
platelag_status plag_coverage_measure(plag_model *model, const plag_guess *guess,
                                      platelag_error *error);

/* Time that a sample stands for: until the next of its segment, but no longer than five updates. */
double plag_sample_time_s(const platelag_trace *trace, const platelag_trace_segment *segment,
                          size_t sample);

#endif
