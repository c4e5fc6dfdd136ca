/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Held intervals of practice captures against their truth.
 *
 * The truth is the physics' own (src/practice/world.c): plates that stay within 0.4 % of travel for
 * half a second or more while the command asks them 4 % or more away AND drive and spring pull them
 * there with as much: what friction-free plates would never leave, whatever the response. (Healthy
 * friction withstands less than 4 %.) Where the recorder shows a desired position, that is the
 * command; else the duty is, in a closed loop too. Plates that lean on a stop that a deposit has
 * moved are stopped, not held.
 *
 * Must be found: true intervals of a second or longer whose pull, by drive and spring, is clear on
 * average: 8 % or more, the stick band that a spec allows by default. Slighter ones, from 6 % on
 * (the fit claims from 5.6 % on), are counted beside them: the stops are learned from the capture,
 * and where sticking plates never get to a stop nobody can see how far they are from it. Found is
 * what the fit's intervals cover half of. A claimed interval of a second or longer is right when
 * half of it lies in true ones of any length and pull. */
#ifndef PLATELAG_TESTS_MADE_HELD_H
#define PLATELAG_TESTS_MADE_HELD_H

#include "platelag/platelag.h"
#include "support/made_capture.h"

#define MADE_HELD_LEAST_S    1.0
#define MADE_HELD_CLEAR_PCT  8.0
#define MADE_HELD_SLIGHT_PCT 6.0

typedef struct made_held_tally {
  size_t found, missed;               /* true ones that must be found */
  size_t slight_found, slight_missed; /* those with a slighter pull */
  size_t claimed, right;              /* of the fit's, of a second or longer */
  size_t any, any_false;              /* of the fit's, of any length; less than half of them true */
  double minutes;
} made_held_tally;

typedef struct made_held {
  platelag_workspace *workspace;
  platelag_spec *spec;
  made_capture made;
  platelag_loop loop;            /* what the last fit saw of it */
  platelag_finding_kind finding; /* how the last fit was judged */
} made_held;

void made_held_begin(made_held *tools);
void made_held_end(made_held *tools);

/* Makes, reads and fits what is ordered and adds to the tally. Fails the test where that fails.
 * With PLATELAG_SHOW_HELD in the environment each miss and each false claim is printed. */
void made_held_try(made_held *tools, const platelag_practice_order *order, made_held_tally *tally);

/* Harmonic mean of recall and precision, with or without slight pulls. */
double made_held_f1(const made_held_tally *tally, bool slight_too);

void made_held_add(made_held_tally *sum, const made_held_tally *more);

#endif
