/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/open_row.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "read/plain_line.h"

bool plag_open_row_make_room(plag_open_row *row, size_t size) {
  char *text = realloc(row->text, size);
  if (text == NULL)
    return false;
  row->text = text;
  row->text_size = size;
  return true;
}

void plag_open_row_forget(plag_open_row *row) {
  row->text_length = 0;
  row->count = 0;
  row->ended = false;
  row->long_cell = 0;
}

/* The place of the next cell, or NULL: too many, too long, or no memory. */
static plag_cell *next_cell(plag_open_row *row, size_t length) {
  row->count++;
  if (row->count > PLAG_MOST_COLUMNS)
    return NULL;
  if (length > PLAG_LONGEST_CELL_BYTES) {
    if (row->long_cell == 0) {
      row->long_cell = length;
      row->long_column = row->count;
    }
    return NULL;
  }
  if (row->count > row->capacity) {
    void *grown = row->cell;
    if (!plag_array_reserve(&grown, &row->capacity, row->count, sizeof *row->cell)) {
      row->no_memory = true;
      row->count--;
      return NULL;
    }
    row->cell = grown;
  }
  return &row->cell[row->count - 1];
}

void plag_open_row_take_cell(void *bytes, size_t length, void *context) {
  plag_open_row *row = context;
  plag_cell *cell = next_cell(row, length);
  if (cell == NULL)
    return;
  *cell = (plag_cell){.text = bytes, .length = length};
  plag_cell_trim(cell);
  assert(row->text_length + cell->length <= row->text_size);
  char *to = row->text + row->text_length;
  if (cell->length > 0)
    memcpy(to, cell->text, cell->length);
  row->text_length += cell->length;
  cell->text = to;
}

void plag_open_row_take_end(int terminator, void *context) {
  (void)terminator;
  ((plag_open_row *)context)->ended = true;
}

static void lend_cell(plag_open_row *row, const char *from, size_t length) {
  plag_cell *cell = next_cell(row, length);
  if (cell == NULL)
    return;
  *cell = (plag_cell){.text = from, .length = length};
  plag_cell_trim(cell);
}

void plag_open_row_split_line(plag_open_row *row, const char *line, size_t length, char separator) {
  const char *from = line;
  const char *const end = line + length - 1;
  if (length <= PLAG_LONGEST_CELL_BYTES) {
    const size_t room = row->capacity < PLAG_MOST_COLUMNS ? row->capacity : PLAG_MOST_COLUMNS;
    row->count = plag_plain_line_split(from, end, separator, row->cell, room, &from);
  }
  row->ended = true;
  while (from <= end) {
    const char *at = memchr(from, separator, (size_t)(end - from));
    at = at == NULL ? end : at;
    lend_cell(row, from, (size_t)(at - from));
    from = at + 1;
  }
  if (row->count == 1 && row->long_cell == 0 && row->cell[0].length == 0)
    row->count = 0;
}

bool plag_open_row_is_good(const plag_open_row *row) {
  return !row->no_memory && row->long_cell == 0 && row->count <= PLAG_MOST_COLUMNS;
}

platelag_status plag_open_row_refuse(const plag_open_row *row, const char *file, int64_t line,
                                     platelag_error *error) {
  if (row->no_memory)
    return plag_error_memory(error, "the cells of a row");
  if (row->long_cell > 0)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, file, line, (int64_t)row->long_column,
                          "a cell of %zu bytes; a value or a name of at most %d bytes was expected",
                          row->long_cell, PLAG_LONGEST_CELL_BYTES);
  return plag_error_set(error, PLATELAG_ERROR_INPUT, file, line, 0,
                        "a row of %zu cells; at most %d columns were expected", row->count,
                        PLAG_MOST_COLUMNS);
}

void plag_open_row_clear(plag_open_row *row) {
  free(row->text);
  free(row->cell);
}
