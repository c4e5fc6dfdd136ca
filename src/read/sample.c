/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/sample.h"

#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"

/* All text of the row in one piece; an empty cell's text is "". */
static bool copy_cells(plag_sample *sample, const plag_row *row, plag_cell *cell) {
  size_t size = 0;
  for (size_t i = 0; i < row->count; i++)
    size += row->cell[i].length;
  char *text = plag_arena_take(&sample->arena, size);
  if (text == NULL)
    return false;
  for (size_t i = 0; i < row->count; i++) {
    const size_t length = row->cell[i].length;
    cell[i] = (plag_cell){.text = length > 0 ? text : "", .length = length};
    text = mempcpy(text, row->cell[i].text, length);
  }
  sample->bytes += size + row->count * sizeof *cell;
  return true;
}

static bool copy_row(plag_sample *sample, const plag_row *row) {
  void *grown = sample->row;
  if (!plag_array_reserve(&grown, &sample->capacity, sample->count + 1, sizeof *sample->row))
    return false;
  sample->row = grown;
  plag_cell *cell = plag_arena_take_array(&sample->arena, row->count + 1, sizeof *cell);
  if (cell == NULL || !copy_cells(sample, row, cell))
    return false;
  sample->row[sample->count] = *row;
  sample->row[sample->count].cell = cell;
  sample->count++;
  return true;
}

platelag_status plag_sample_fill(plag_sample *sample, plag_rows *rows, int64_t first_line,
                                 platelag_error *error) {
  while (sample->count < PLAG_SAMPLE_ROWS && sample->bytes < PLAG_SAMPLE_BYTES) {
    plag_row row;
    bool more = false;
    const platelag_status status = plag_rows_next(rows, &row, &more, error);
    if (status != PLATELAG_OK)
      return status;
    if (!more) {
      sample->whole = true;
      return PLATELAG_OK;
    }
    if (row.line >= first_line && !copy_row(sample, &row))
      return plag_error_memory(error, "the first rows");
  }
  return PLATELAG_OK;
}

void plag_sample_clear(plag_sample *sample) {
  free(sample->row);
  plag_arena_clear(&sample->arena);
  *sample = (plag_sample){0};
}
