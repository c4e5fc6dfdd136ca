/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A first guess of where a command asks the plates to be, made before any fit: the median reading
 * at each of eight levels of the command. Void readings do not sway a median; it need be right only
 * in direction and roughly in size. */
#ifndef PLAG_MODEL_GUESS_H
#define PLAG_MODEL_GUESS_H

#include "platelag/trace.h"

#define PLAG_GUESS_BINS 8

typedef struct plag_guess {
  int knots; /* 0: nothing is known (no command, or it never rested) */
  double command[PLAG_GUESS_BINS];
  double travel_pct[PLAG_GUESS_BINS];
} plag_guess;

void plag_guess_build(const platelag_trace *trace, plag_guess *guess);

/* Travel at a command, linear between the knots; NaN when nothing is known. */
double plag_guess_travel_pct(const plag_guess *guess, double command);

#endif
