/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Decoded text -> rows of cells. The only user of libcsv. Rows are pulled; memory is bounded by the
 * longest row that is allowed, whatever the file. */
#ifndef PLAG_READ_ROWS_H
#define PLAG_READ_ROWS_H

#include "platelag/capture.h"

/* One cell: UTF-8, blanks around it taken off, not terminated. */
typedef struct plag_cell {
  const char *text;
  size_t length;
} plag_cell;

/* One row; everything in it is lent until the next call. Blank lines give no row. */
typedef struct plag_row {
  int64_t line; /* of the file, from 1, on which the row begins */
  size_t count;
  const plag_cell *cell;
  bool after_blank; /* a blank line stood before it */
  bool cut;         /* the file ended inside this row, without a line end */
} plag_row;

typedef struct plag_rows plag_rows;

/* Starts to read `source` (decompressed and decoded here as need be; see decode.h). `file` names it
 * in messages and must outlive the rows. The first bytes are looked at and can be had from
 * plag_rows_head; nothing is split into rows before plag_rows_split says how. */
platelag_status plag_rows_open(const platelag_source *source, const char *file, plag_rows **out,
                               platelag_error *error);

/* The first decoded bytes, UTF-8 with LF line ends (at most 256 KiB, less when the file is shorter,
 * ending at a line end where one is there). Lent until the first plag_rows_next. */
const char *plag_rows_head(const plag_rows *rows, size_t *length);

/* Sets the separator and whether quotes mean anything; once, before the first plag_rows_next. */
void plag_rows_split(plag_rows *rows, char separator, bool quoting);

/* The next row; `*more` is false at the end of the file. Refuses: a NUL or binary content, a row of
 * more than PLAG_MOST_COLUMNS cells, a row or cell longer than the limits. An unbalanced quote that
 * would eat the file is repaired (quotes are then plain characters from its line on) and noted. */
platelag_status plag_rows_next(plag_rows *rows, plag_row *row, bool *more, platelag_error *error);

enum {
  PLAG_MOST_COLUMNS = 4096,
  PLAG_LONGEST_CELL_BYTES = 64 * 1024,
  PLAG_LONGEST_ROW_BYTES = 4 << 20
};

/* "UTF-16LE", "gzip" ...; static. */
const char *plag_rows_encoding(const plag_rows *rows);
const char *plag_rows_compression(const plag_rows *rows);

/* What was repaired so far; lent. */
size_t plag_rows_note_count(const plag_rows *rows);
const platelag_note *plag_rows_note_at(const plag_rows *rows, size_t index);

void plag_rows_destroy(plag_rows *rows);

#endif
