/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One cell's text -> a value. */
#ifndef PLAG_READ_CELL_H
#define PLAG_READ_CELL_H

#include "read/units.h"

typedef enum plag_cell_kind {
  PLAG_CELL_MISSING, /* empty, or one of the marks that say so */
  PLAG_CELL_NUMBER,
  PLAG_CELL_STATE, /* on, open, yes: 1; off, closed, no: 0 */
  PLAG_CELL_OTHER  /* text, identifiers, infinities */
} plag_cell_kind;

/* How a column writes numbers. */
typedef struct plag_notation {
  char decimal; /* '.' or ',' */
  char group;   /* '.', ',' or 0: this mark parts thousands; blanks and apostrophes always may */
} plag_notation;

typedef struct plag_value {
  plag_cell_kind kind;
  double number;               /* of a number or a state; NaN otherwise */
  const plag_unit_entry *unit; /* that stood behind the number, or NULL; the number is not scaled */
} plag_value;

/* Reads a cell without blanks around it. */
plag_value plag_cell_read(const char *text, size_t length, plag_notation notation);

/* Whether a cell that is no value was meant as a number: an infinity, or one too large to hold. */
bool plag_cell_is_beyond(const char *text, size_t length);

/* What a cell says about the notation of its column. */
typedef enum plag_notation_hint {
  PLAG_HINT_NONE,
  PLAG_HINT_PLAIN,         /* digits only, or a sign and digits */
  PLAG_HINT_EITHER_POINT,  /* "1.234": a decimal point or thousands */
  PLAG_HINT_EITHER_COMMA,  /* "1,234" */
  PLAG_HINT_DECIMAL_POINT, /* "0.45", "1.5", "1,234.5" */
  PLAG_HINT_DECIMAL_COMMA  /* "0,45", "1,5", "1.234,5" */
} plag_notation_hint;

plag_notation_hint plag_cell_hint(const char *text, size_t length);

#endif
