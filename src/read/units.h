/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The units that stand in headers and behind numbers. */
#ifndef PLAG_READ_UNITS_H
#define PLAG_READ_UNITS_H

#include "platelag/capture.h"

typedef struct plag_unit_entry {
  const char *text; /* as written; the case counts where a single letter stands */
  platelag_unit unit;
  double scale;     /* times this: in the unit that is stored */
  double second_ns; /* nanoseconds in one, for units of time; else 0 */
} plag_unit_entry;

/* The entry of a unit's text, blanks around it allowed; NULL when it is in no row. */
const plag_unit_entry *plag_unit_find(const char *text, size_t length);

#endif
