/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/sample.h"

#include <stdlib.h>

#include "core/array.h"
#include "core/error.h"

static bool copy_row(plag_sample *sample, const plag_row *row) {
  void *grown = sample->row;
  if (!plag_array_reserve(&grown, &sample->capacity, sample->count + 1, sizeof *sample->row))
    return false;
  sample->row = grown;
  plag_cell *cell = plag_arena_take_array(&sample->arena, row->count + 1, sizeof *cell);
  if (cell == NULL)
    return false;
  for (size_t i = 0; i < row->count; i++) {
    cell[i].length = row->cell[i].length;
    cell[i].text = "";
    if (cell[i].length > 0)
      cell[i].text = plag_arena_copy_bytes(&sample->arena, row->cell[i].text, cell[i].length);
    if (cell[i].text == NULL)
      return false;
    sample->bytes += cell[i].length + sizeof *cell;
  }
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
