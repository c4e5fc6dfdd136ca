/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/spreadsheet.h"
#include "mark/sheet.h"

static void add_cell(plag_text *out, const plag_sheet_cell *cell) {
  if (cell->text != NULL)
    plag_cell_add_text(out, cell->text);
  else if (isfinite(cell->number))
    plag_text_add_number(out, cell->number, cell->decimals);
}

/* A row of the sheet as a line. */
static void take_row(void *context, const plag_sheet_cell *cell, size_t count, bool head) {
  plag_text *out = context;
  (void)head;
  for (size_t i = 0; i < count; i++) {
    if (i > 0)
      plag_cell_next(out);
    add_cell(out, &cell[i]);
  }
  plag_cell_end_row(out);
}

platelag_status platelag_class_write_csv(const platelag_class *marked, const platelag_sink *sink,
                                         platelag_error *error) {
  plag_text text = {0};
  platelag_status status = plag_sheet_walk(marked, take_row, &text, error);
  if (status == PLATELAG_OK && text.failed)
    status = plag_error_memory(error, "the marks");
  if (status == PLATELAG_OK)
    status = sink->write(sink->context, text.bytes, text.length, error);
  plag_text_clear(&text);
  return status;
}
