/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the columns of the sample hold, as far as the shape of a file hangs on it. */
#ifndef PLAG_READ_SHAPE_COLUMNS_H
#define PLAG_READ_SHAPE_COLUMNS_H

#include "read/cell.h"
#include "read/sample.h"

typedef struct plag_column_facts {
  size_t empty;   /* cells of nothing */
  size_t missing; /* empty ones too */
  size_t numbers, states, words;
  size_t beyond;            /* of the words: infinities, and numbers too large to hold */
  double lowest, highest;   /* of the numbers as they are written; infinite without one */
  size_t whole;             /* numbers without a fraction */
  size_t distinct;          /* words that differ, up to PLAG_MOST_DISTINCT */
  size_t changes;           /* how often a cell differs from the one above it */
  size_t repeats;           /* how often a present value is that of the present one before */
  size_t nearest, farthest; /* rows from one present value to the next; 0: there is no next */
  bool first_full;          /* the first row fills it */
  bool role;                /* one of its words is the name of a known channel */
} plag_column_facts;

enum { PLAG_MOST_DISTINCT = 64 };

void plag_column_facts_find(const plag_sample *sample, int column, plag_notation notation,
                            plag_column_facts *out);

#endif
