/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Candidates for the layout, scored over rows of the file: what a cell may be, and how well a way
 * of splitting turns the rows into columns of values. */
#ifndef PLAG_READ_LAYOUT_SCORE_H
#define PLAG_READ_LAYOUT_SCORE_H

#include "read/layout_split.h"

/* What one cell may be; several bits at once. */
enum {
  PLAG_LOOKS_MISSING = 1,
  PLAG_LOOKS_POINT = 2, /* a number with a decimal point, or thousands parted by commas */
  PLAG_LOOKS_COMMA = 4, /* a number with a decimal comma, or thousands parted by points */
  PLAG_LOOKS_CLOCK = 8,
  PLAG_LOOKS_STATE = 16,
  PLAG_LOOKS_TEXT = 32
};

unsigned plag_looks_of(plag_cell cell);

/* Whether a cell that looks so is a number (with this decimal mark) or a time. */
bool plag_looks_like_value(unsigned looks, char decimal);

/* One candidate and what it came to. */
typedef struct plag_layout_score {
  char separator;
  bool quoting;
  char decimal;
  double score;     /* 0..about 1.2 */
  size_t width;     /* cells of the table's rows */
  size_t rows;      /* of that width, in the sample */
  bool even;        /* both decimal marks read as many cells */
  double next_best; /* score of the best candidate with another separator */
} plag_layout_score;

/* Scores all candidates over `text` (whole lines). `only` is a separator that the file itself
 * names, or 0. `cells` is room to work in. A score of 0 means that no candidate gives a table. */
plag_layout_score plag_layout_score_all(const char *text, size_t length, char only,
                                        plag_split_cells *cells);

#endif
