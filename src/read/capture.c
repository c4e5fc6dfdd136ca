/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The story of reading: bytes, rows, layout, clock and shape, columns, a capture. */
#include "platelag/capture.h"

#include "core/error.h"
#include "read/capture_object.h"

static void reader_clear(plag_reader *r) {
  plag_collect_clear(&r->collector);
  plag_note_list_clear(&r->notes);
  plag_sample_clear(&r->sample);
  plag_arena_clear(&r->arena);
  plag_rows_destroy(r->rows);
}

/* From bytes to the first rows of cells. */
static platelag_status read_layout(plag_reader *r, const platelag_source *source,
                                   platelag_error *error) {
  platelag_status status = plag_rows_open(source, r->file, &r->rows, error);
  if (status != PLATELAG_OK)
    return status;
  size_t length = 0;
  const char *head = plag_rows_head(r->rows, &length);
  status = plag_layout_find(head, length, r->file, &r->arena, &r->layout, error);
  if (status != PLATELAG_OK)
    return status;
  r->preamble = plag_started_in_preamble(head, length, r->layout.preamble_lines);
  plag_rows_split(r->rows, r->layout.separator, r->layout.quoting);
  status = plag_sample_fill(&r->sample, r->rows, r->layout.data_line, error);
  if (status != PLATELAG_OK)
    return status;
  if (r->sample.count == 0)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, r->file, r->layout.header_line, 0,
                          "a header but no data row; expected rows of samples below it");
  r->notation = plag_arena_take_array(&r->arena, r->layout.column_count + 1, sizeof *r->notation);
  if (r->notation == NULL)
    return plag_error_memory(error, "the columns");
  plag_notation_decide(&r->sample, &r->layout, r->notation, &r->notes);
  return PLATELAG_OK;
}

/* All rows: the first again, then the rest of the file. */
static platelag_status read_rows(plag_reader *r, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < r->sample.count && status == PLATELAG_OK; i++)
    status = plag_collect_row(&r->collector, &r->sample.row[i], error);
  plag_collect_rest_idle(&r->collector);
  bool more = !r->sample.whole;
  while (more && status == PLATELAG_OK) {
    plag_row row;
    status = plag_rows_next(r->rows, &row, &more, error);
    if (status == PLATELAG_OK && more)
      status = plag_collect_row(&r->collector, &row, error);
  }
  return status;
}

platelag_status platelag_capture_read_source(const platelag_source *source,
                                             const platelag_read_options *options,
                                             platelag_capture **out, platelag_error *error) {
  static const platelag_read_options none = {0};
  if (options == NULL)
    options = &none;
  *out = NULL;
  plag_reader r = {.file = options->display_name != NULL ? options->display_name : "capture"};
  platelag_status status = read_layout(&r, source, error);
  if (status != PLATELAG_OK)
    goto done;
  r.collector =
      (plag_collector){.file = r.file, .layout = &r.layout, .options = options, .notes = &r.notes};
  status = plag_shape_find(&r.sample, &r.layout, r.notation, options->rows_per_second, r.file,
                           &r.arena, &r.notes, &r.collector.shape, error);
  if (status != PLATELAG_OK)
    goto done;
  status = plag_collect_begin(&r.collector, &r.sample, r.notation, error);
  if (status == PLATELAG_OK)
    status = read_rows(&r, error);
  if (status == PLATELAG_OK)
    status = plag_collect_end(&r.collector, error);
  if (status == PLATELAG_OK)
    status = plag_capture_build(&r, out, error);
done:
  reader_clear(&r);
  return status;
}
