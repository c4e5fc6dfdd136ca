/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A small table in a CSV file that a person keeps by hand: manifests, keys, answers. RFC 4180, by
 * libcsv; comma, semicolon or tab, found in the first line. UTF-8, with or without mark. */
#ifndef PLAG_CORE_TABLE_H
#define PLAG_CORE_TABLE_H

#include "core/arena.h"
#include "platelag/status.h"

typedef struct plag_table {
  const char *const *cell; /* row_count * column_count texts, blanks around them taken off */
  const char *const *column;
  size_t column_count;
  size_t row_count;    /* rows that hold anything; the header does not count */
  const int64_t *line; /* in which each row begins, from 1 */
  plag_arena arena;
} plag_table;

/* Reads all of `path` ("-" is no special name). A table without a header, one with two columns of a
 * name and a row longer than the header are refused, with the line. Start zero-initialised; the
 * caller clears it, whatever comes of it. */
platelag_status plag_table_read(const char *path, plag_table *out, platelag_error *error);
void plag_table_clear(plag_table *table);

/* The column of this name (whatever the case of its letters); SIZE_MAX when there is none. */
size_t plag_table_find(const plag_table *table, const char *name);

/* The cell; "" where the column is SIZE_MAX. */
const char *plag_table_at(const plag_table *table, size_t row, size_t column);

#endif
