/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cells of the row that is being read, within the limits of rows.h. What goes wrong is kept,
 * and told when the row has ended: libcsv's callbacks cannot fail. */
#ifndef PLAG_READ_OPEN_ROW_H
#define PLAG_READ_OPEN_ROW_H

#include "read/rows.h"

typedef struct plag_open_row {
  char *text; /* of copied cells; never moves while a row is open */
  size_t text_size, text_length;
  plag_cell *cell;
  size_t capacity;
  size_t count; /* cells, those beyond the limit too */
  bool ended;
  bool no_memory;
  size_t long_cell;   /* bytes of the first cell over the limit; 0: none */
  size_t long_column; /* its column, from 1 */
} plag_open_row;

/* Room for the text of a row of `size` bytes; pointers into the old one are no longer good. */
bool plag_open_row_make_room(plag_open_row *row, size_t size);

/* Begins anew, with no cells. */
void plag_open_row_forget(plag_open_row *row);

/* A cell of libcsv's, which is copied, and a row's end: callbacks with the row as their context. */
void plag_open_row_take_cell(void *bytes, size_t length, void *context);
void plag_open_row_take_end(int terminator, void *context);

/* A line without quotes, its line end within `length`: the cells stay where they are. A line of
 * blanks is a row without cells, as it is for libcsv. */
void plag_open_row_split_line(plag_open_row *row, const char *line, size_t length, char separator);

/* Whether all cells are there and none is too long. */
bool plag_open_row_is_good(const plag_open_row *row);

/* Says what went wrong: memory, a long cell, too many cells. */
platelag_status plag_open_row_refuse(const plag_open_row *row, const char *file, int64_t line,
                                     platelag_error *error);

void plag_open_row_clear(plag_open_row *row);

#endif
