/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A small table in a CSV file that a person keeps by hand: manifests, keys, answers. RFC 4180, by
 * libcsv; comma, semicolon or tab, found in the first line. UTF-8, with or without mark. */
#ifndef PLAG_CORE_TABLE_H
#define PLAG_CORE_TABLE_H

#include "core/arena.h"
#include "platelag/status.h"

/* --- row by row ------------------------------------------------------------------------------ */

/* A row, lent for the call that it is handed to. */
typedef struct plag_table_row {
  const char *const *cell; /* blanks around them taken off; "" where the row is short */
  size_t count;            /* the header's */
  int64_t line;            /* in which it begins, from 1 */
} plag_table_row;

/* Takes a row. Anything but PLATELAG_OK ends the reading with that status. */
typedef platelag_status plag_take_table_row(void *context, const plag_table_row *row,
                                            platelag_error *error);

/* Hands over the header of the table in `path` ("-" is no special name), then each row that holds
 * anything. A table without a header, one with two columns of a name or more than
 * PLAG_TABLE_COLUMNS, and a row longer than the header are refused, with the line; rows before it
 * were handed over then. */
enum { PLAG_TABLE_COLUMNS = 1024 };
platelag_status plag_table_visit(const char *path, plag_take_table_row *header,
                                 plag_take_table_row *row, void *context, platelag_error *error);

/* The cell that holds this name (whatever the case of its letters); SIZE_MAX when there is none. */
size_t plag_table_row_find(const plag_table_row *header, const char *name);

/* The cell; "" where the column is SIZE_MAX. */
const char *plag_table_row_at(const plag_table_row *row, size_t column);

/* --- as a whole ------------------------------------------------------------------------------ */

typedef struct plag_table {
  const char **cell; /* of all rows, one after the other, each up to its last that is not "" */
  size_t *row_begin; /* row_count + 1 places in `cell` */
  const char **column;
  size_t column_count;
  size_t row_count; /* rows that hold anything; the header does not count */
  int64_t *line;    /* in which each row begins, from 1 */
  size_t cell_capacity, begin_capacity, line_capacity;
  plag_arena arena;
} plag_table;

/* Reads all of `path`; memory grows with its bytes alone. Start zero-initialised; the caller clears
 * it, whatever comes of it. */
platelag_status plag_table_read(const char *path, plag_table *out, platelag_error *error);
void plag_table_clear(plag_table *table);

/* As for a row. */
size_t plag_table_find(const plag_table *table, const char *name);
const char *plag_table_at(const plag_table *table, size_t row, size_t column);

#endif
