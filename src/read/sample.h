/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The first data rows, copied, so that shape, clock and columns can be decided on them before the
 * file is streamed; they are then read again from here. */
#ifndef PLAG_READ_SAMPLE_H
#define PLAG_READ_SAMPLE_H

#include "read/layout.h"

enum { PLAG_SAMPLE_ROWS = 512, PLAG_SAMPLE_BYTES = 4 << 20 };

typedef struct plag_sample {
  plag_row *row; /* its cells lie in `arena` */
  size_t count;
  size_t capacity;
  size_t bytes;
  bool whole; /* the file ended inside the sample */
  plag_arena arena;
} plag_sample;

/* Reads rows from `first_line` on until the sample is full or the file ends. Start from zero. */
platelag_status plag_sample_fill(plag_sample *sample, plag_rows *rows, int64_t first_line,
                                 platelag_error *error);

/* The cell of a row, an empty one where the row is too short. */
static inline plag_cell plag_row_cell(const plag_row *row, int column) {
  if (column < 0 || (size_t)column >= row->count)
    return (plag_cell){"", 0};
  return row->cell[column];
}

void plag_sample_clear(plag_sample *sample);

#endif
