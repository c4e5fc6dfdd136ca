/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An even sample of values that come one by one, without knowing how many will come: each time the
 * room is full, every second one goes and half as many are taken from there on. */
#ifndef PLAG_MODEL_EVEN_SAMPLE_H
#define PLAG_MODEL_EVEN_SAMPLE_H

#include <stdbool.h>

#include "model/parts.h"

typedef struct plag_even_sample {
  double *value; /* `count` of them */
  size_t count, room, seen, stride;
} plag_even_sample;

/* Room for `room` values (even) in the workspace. False without memory. */
bool plag_even_sample_begin(plag_even_sample *sample, platelag_workspace *workspace, size_t room);

void plag_even_sample_add(plag_even_sample *sample, double value);

#endif
