/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A column of the file, or a channel of long form, while it is read: how its cells are understood,
 * what was counted, and, where it is kept, its samples. */
#ifndef PLAG_READ_COLUMN_H
#define PLAG_READ_COLUMN_H

#include <math.h>

#include "core/number.h"
#include "read/clock.h"
#include "read/names.h"
#include "read/note_list.h"
#include "read/refresh.h"
#include "read/shape_columns.h"

enum { PLAG_SHOWN_BYTES = 48, PLAG_CACHED_BYTES = 32 };

typedef struct plag_column {
  plag_column_head head; /* lent */
  int index;             /* in the file, from 0; in long form the order of appearance */
  plag_notation notation;
  platelag_unit unit;
  double scale;          /* of numbers without a unit of their own */
  const char *unit_text; /* lent */
  plag_name_match match;
  bool named; /* by option or spec */
  bool kept;
  bool idle;          /* not read any more */
  bool sampled_words; /* mostly words in the first rows */

  size_t numbers, states, words, missing;
  double lowest, highest;
  int64_t bad_line; /* of the first cell that is no value; 0: none */
  char bad_text[PLAG_SHOWN_BYTES];
  size_t state_among_numbers; /* state words read as 0 or 100 % among numbers */
  int64_t state_line;
  double sentinel; /* 9999 and the like, maybe a missing mark */
  size_t sentinel_count;
  int64_t sentinel_line;
  bool sentinel_missing; /* decided at the end */
  plag_refresh refresh;
  double held;     /* the last value, for recordings of changes only; NaN: none */
  int64_t last_ns; /* of the last sample; INT64_MIN: none in this segment */
  double waiting;  /* the value at a stamp that waits (collect_stamps.c); NaN: none */

  char cached[PLAG_CACHED_BYTES]; /* the last cell of plag_column_take_any: recorders repeat */
  size_t cached_length;
  plag_value cached_value;

  double *value; /* malloc'd; its count is the shared clock's, or `count` */
  size_t capacity;
  int64_t *time_ns; /* of its own; NULL where the clock is shared */
  size_t time_capacity;
  size_t count;
  size_t group; /* first sample of the open group of equal stamps, see spread.h */
} plag_column;

/* Prepares a column: unit and scale from its head, else from the units behind its numbers in the
 * sample, and what else `facts` say of it (both NULL: nothing known). */
void plag_column_begin(plag_column *column, const plag_column_head *head, int index,
                       plag_notation notation, const plag_sample *sample,
                       const plag_column_facts *facts);

/* From here on a number may stand for "no value". */
#define PLAG_LEAST_SENTINEL 9999

/* Lowest and highest take in one more reading. */
static inline void plag_column_widen(plag_column *column, double value) {
  if (!(value >= column->lowest))
    column->lowest = value;
  if (!(value <= column->highest))
    column->highest = value;
}

/* A cell that is no short number, or a number so large that it may stand for "no value". Only
 * plag_column_take. */
double plag_column_take_any(plag_column *column, plag_cell cell, int64_t line);

/* Takes one cell: counts it and returns the value to keep, NaN for a missing one. */
static inline double plag_column_take(plag_column *column, plag_cell cell, int64_t line) {
  double number;
  if (!plag_number_read_short(cell.text, cell.length, column->notation.decimal, &number))
    return plag_column_take_any(column, cell, line);
  number *= column->scale;
  if (!(fabs(number) < PLAG_LEAST_SENTINEL))
    return plag_column_take_any(column, cell, line);
  column->numbers++;
  plag_column_widen(column, number);
  return number;
}

/* The same with the unit that stands in the row, as in long form. A unit that cannot be turned into
 * the channel's own makes the cell no value. */
double plag_column_take_in(plag_column *column, plag_cell cell, plag_cell unit, int64_t line);

/* Makes room for a sample. Only plag_column_push. */
bool plag_column_grow(plag_column *column);

/* Appends a sample, or a sample and its own time. False without memory. */
static inline bool plag_column_push(plag_column *column, double value) {
  if (column->count == column->capacity && !plag_column_grow(column))
    return false;
  column->value[column->count++] = value;
  return true;
}
bool plag_column_push_timed(plag_column *column, int64_t time_ns, double value);

/* A sample of a channel with times of its own; NaN: none. False without memory. */
bool plag_column_keep(plag_column *column, int64_t ns, double value);

/* Decides what could only be decided at the end (sentinels), and takes them out of the samples;
 * `count` is how many there are. */
void plag_column_end(plag_column *column, size_t count, plag_note_list *notes);

platelag_value_kind plag_column_kind(const plag_column *column);
void plag_column_drop(plag_column *column);

/* How each column writes numbers: by its own cells, else as the file does, else by whether the mark
 * stands in all of them. What stays ambiguous is noted. `notation` has room for all columns. */
void plag_notation_decide(const plag_sample *sample, const plag_layout *layout,
                          plag_notation *notation, plag_note_list *notes);

#endif
