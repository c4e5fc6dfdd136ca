/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the readings do while the command rests: then free plates stand where the map has them, and
 * held ones stand or slip towards it. What goes elsewhere is no plate's doing. */
#ifndef PLAG_JUDGE_RESTING_H
#define PLAG_JUDGE_RESTING_H

#include "platelag/finding.h"

typedef struct plag_resting {
  double minutes;    /* with the command at rest, the answer to it over */
  double away_leaps; /* valid readings that leapt away from where the command asks */
  double trend_pct;  /* how far the levels at one command moved over the record, signed; NaN */
  double trend_sd_pct;
} plag_resting;

/* `lag_s`: the answer to a change of the command is over four times this later. Pure. */
plag_resting plag_resting_look(const platelag_fit *fit, const platelag_trace *trace, double lag_s);

#endif
