/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows of the first bytes of a file, split for trial: many ways of splitting are tried on them
 * before one is chosen. What is chosen is then split by rows.c; the two agree on quotes. */
#ifndef PLAG_READ_LAYOUT_SPLIT_H
#define PLAG_READ_LAYOUT_SPLIT_H

#include "read/rows.h"

/* A way of splitting, and a place in the text. */
typedef struct plag_splitter {
  const char *text;
  size_t length;
  char separator;
  bool quoting;
  size_t at;    /* of the next row */
  int64_t line; /* on which it begins */
} plag_splitter;

/* Room for the cells of one row, one more than a row may have, to show that it has too many. */
typedef struct plag_split_cells {
  plag_cell cell[PLAG_MOST_COLUMNS + 1];
} plag_split_cells;

/* Splits the next row that is not blank; false at the end of the text. Cells are trimmed, quotes
 * around them taken off, doubled quotes inside left as they are. `row` lends from `cells` and the
 * text. */
bool plag_split_next(plag_splitter *splitter, plag_split_cells *cells, plag_row *row);

#endif
