/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The effort: the duty that a controller moves until the position fits. What it takes to hold
 * plates at a place against the spring is a line over the place; what the duty has beyond it pulls
 * at them. */
#ifndef PLAG_MODEL_EFFORT_H
#define PLAG_MODEL_EFFORT_H

#include "model/parts.h"

/* duty = at_closed + per_pct * travel, for plates that stand and no friction. */
typedef struct plag_effort {
  const platelag_channel *duty;
  bool known; /* false where the duty holds no place: no spring, too little seen */
  double at_closed, per_pct;
  size_t cursor; /* into the channel */
} plag_effort;

/* Fits the line to readings of plates that stand. `duty` is a channel in % of duty. Duty is
 * regressed on travel, not the other way: in a loop the place is given and friction scatters the
 * duty about what the spring needs, as far up as down (derived). False without memory. */
bool plag_effort_fit(const plag_model *model, const platelag_channel *duty, plag_effort *effort);

/* The duty at a time: the channel's last sample; NaN before the first. Times must not fall from
 * call to call, unless plag_effort_rewind is called before. */
double plag_effort_duty_at(plag_effort *effort, int64_t at_ns);
void plag_effort_rewind(plag_effort *effort);

/* Where that duty would hold plates without friction, % of travel; NaN when unknown. */
double plag_effort_asked_pct(const plag_effort *effort, double duty);

#endif
