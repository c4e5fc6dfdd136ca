/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rails of the signal: levels that a broken circuit reads. */
#ifndef PLAG_MODEL_RAILS_H
#define PLAG_MODEL_RAILS_H

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

/* Marks stretches past a limit, from the hold time on or with a decoded jump in them. */
void plag_rails_mark(plag_model *model);

/* Time that a sample stands for: until the next of its segment, but no longer than five updates. */
double plag_sample_time_s(const platelag_trace *trace, const platelag_trace_segment *segment,
                          size_t sample);

#endif
