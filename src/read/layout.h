/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a file is laid out, decided over its first rows by scoring every candidate, not by the first
 * that parses: separator, decimal mark, grouping, preamble, header rows, units. */
#ifndef PLAG_READ_LAYOUT_H
#define PLAG_READ_LAYOUT_H

#include "core/arena.h"
#include "read/rows.h"

/* What the header says of one column. UTF-8, lent by the layout's arena. */
typedef struct plag_column_head {
  const char *name;      /* unit taken off, white space folded; "" when the header says nothing */
  const char *full_name; /* as it stands in the file, for messages and for --command */
  const char *unit;      /* "%", "V", "deg C" ... from the name or a row of units; "" */
} plag_column_head;

/* One line before the header that looks like "key: value" or a pair of cells. */
typedef struct plag_preamble_entry {
  int64_t line;
  const char *key;
  const char *value;
} plag_preamble_entry;

typedef struct plag_layout {
  char separator; /* ',' ';' '\t' '|' */
  char decimal;   /* '.' or ',' */
  bool quoting;
  bool has_header;
  int64_t header_line; /* of its first row; 0 without */
  int header_rows;
  int64_t data_line; /* of the first data row */
  int64_t preamble_lines;
  size_t preamble_count;
  const plag_preamble_entry *preamble;
  size_t column_count; /* of the header, a trailing empty column not counted; without a header of
                          the data */
  const plag_column_head *column;
  bool trailing_separator; /* data rows end in a separator that the header lacks, or both do */
  size_t note_count;
  const platelag_note *note; /* guesses with their evidence */
} plag_layout;

/* Decides on `head` (UTF-8 with LF, as plag_rows_head gives it). What it makes is held by `arena`.
 * Refuses with line, what was found and what was expected. */
platelag_status plag_layout_find(const char *head, size_t length, const char *file,
                                 plag_arena *arena, plag_layout *out, platelag_error *error);

#endif
