/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A record as a capture: the frame around it, and its rows in each of the shapes. */
#include "practice/export.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/error.h"
#include "practice/export_writer.h"

enum { CHUNK_BYTES = 128 * 1024, ROWS_A_HEADER = 250, ROWS_A_BACK_STEP = 97, BACK_STEP_MS = 20 };

static platelag_status hand_over(plag_export_writer *w, platelag_error *error) {
  plag_text_reset(&w->encoded);
  plag_export_encode(w->layout, !w->begun, &w->text, &w->encoded);
  if (w->text.failed || w->encoded.failed || w->cell.failed || w->failed)
    return plag_error_memory(error, "the text of a practice capture");
  w->begun = true;
  plag_text_reset(&w->text);
  return w->sink->write(w->sink->context, w->encoded.bytes, w->encoded.length, error);
}

/* --- the frame ------------------------------------------------------------------------------- */

static void add_preamble(plag_export_writer *w) {
  const plag_export_preamble kind = w->layout->preamble;
  if (kind == PLAG_PREAMBLE_SEP)
    plag_text_add_format(&w->text, "sep=%c\n", w->separator);
  if (kind != PLAG_PREAMBLE_SHORT && kind != PLAG_PREAMBLE_LONG)
    return;
  plag_text_add_format(&w->text,
                       "Recording of a road test\nVehicle: %s\nOperator: workshop 2, bay 4\n"
                       "Remark: cold start, then town and bypass; windows closed\n",
                       w->vehicle);
  for (int line = 5; kind == PLAG_PREAMBLE_LONG && line <= 33; line++)
    plag_text_add_format(&w->text, "Setting %d: %d\n", line - 4, line * 37 % 101);
  plag_text_add_char(&w->text, '\n');
}

static void add_footer(plag_export_writer *w) {
  if (w->layout->footer)
    plag_text_add_format(&w->text, "\nEnd of recording\nRows: %zu\n", w->record->row_count);
}

/* --- the shapes ------------------------------------------------------------------------------ */

static void add_wide_row(plag_export_writer *w, int64_t stamp_ms, const double *value) {
  if (w->layout->vehicle_column)
    plag_export_add_cell(w, w->vehicle);
  plag_export_add_stamp(w, stamp_ms);
  size_t count = w->record->channel_count;
  while (w->layout->ragged && count > 0 && isnan(value[count - 1]))
    count--;
  for (size_t index = 0; index < count; index++)
    if (w->layout->on_change && w->row > 0 &&
        value[index] == *(value + index - w->record->channel_count))
      plag_export_add_cell(w, "");
    else
      plag_export_add_value(w, &w->record->channel[index], value[index]);
  if (w->layout->repeated_position) {
    const size_t index = plag_export_position(w->record);
    plag_export_add_value(w, &w->record->channel[index], value[index]);
  }
  plag_export_end_data_row(w, w->layout->trailing_separator);
}

static void add_clock_per_channel_row(plag_export_writer *w, int64_t stamp_ms,
                                      const double *value) {
  for (size_t index = 0; index < w->record->channel_count; index++) {
    plag_export_add_stamp(w, stamp_ms);
    plag_export_add_value(w, &w->record->channel[index], value[index]);
  }
  plag_export_end_data_row(w, w->layout->trailing_separator);
}

static void add_long_rows(plag_export_writer *w, int64_t stamp_ms, const double *value) {
  for (size_t index = 0; index < w->record->channel_count; index++) {
    const plag_record_channel *channel = &w->record->channel[index];
    if (isnan(value[index]))
      continue;
    plag_export_add_stamp(w, stamp_ms);
    plag_export_add_cell(w, w->names[index].bytes);
    plag_export_add_value(w, channel, value[index]);
    plag_export_add_cell(w, plag_export_channel_unit(channel, w->layout->language));
    plag_export_end_data_row(w, w->layout->trailing_separator);
  }
}

static void add_sparse_rows(plag_export_writer *w, int64_t stamp_ms, const double *value) {
  const size_t count = w->record->channel_count;
  for (size_t polled = 0; polled < count; polled++) {
    if (isnan(value[polled]))
      continue;
    plag_export_add_stamp(w, stamp_ms);
    for (size_t index = 0; index < count; index++)
      if (index == polled)
        plag_export_add_value(w, &w->record->channel[index], value[index]);
      else
        plag_export_add_cell(w, "");
    plag_export_end_data_row(w, w->layout->trailing_separator);
  }
}

static void (*const add_rows[])(plag_export_writer *w, int64_t stamp_ms, const double *value) = {
    [PLAG_SHAPE_WIDE] = add_wide_row,
    [PLAG_SHAPE_CLOCK_PER_CHANNEL] = add_clock_per_channel_row,
    [PLAG_SHAPE_LONG] = add_long_rows,
    [PLAG_SHAPE_SPARSE] = add_sparse_rows};

static bool begins_second_run(const plag_export_writer *w, size_t row) {
  return w->layout->two_runs && row == w->record->row_count / 2;
}

static int64_t stamp_of(const plag_export_writer *w, size_t row) {
  const int64_t *stamp_ms = w->record->stamp_ms;
  const size_t half = w->record->row_count / 2;
  if (w->layout->two_runs && row >= half)
    return stamp_ms[row] - stamp_ms[half];
  if (w->layout->back_steps && row % ROWS_A_BACK_STEP == ROWS_A_BACK_STEP - 1)
    return stamp_ms[row - 1] - BACK_STEP_MS;
  return stamp_ms[row];
}

static platelag_status write_all(plag_export_writer *w, platelag_error *error) {
  const plag_record *record = w->record;
  platelag_status status = PLATELAG_OK;
  add_preamble(w);
  plag_export_add_header(w);
  for (size_t row = 0; row < record->row_count && status == PLATELAG_OK; row++) {
    if ((w->layout->repeated_header && row > 0 && row % ROWS_A_HEADER == 0) ||
        begins_second_run(w, row))
      plag_export_add_header(w);
    w->row = row;
    add_rows[w->layout->shape](w, stamp_of(w, row), record->value + row * record->channel_count);
    if (w->text.length >= CHUNK_BYTES)
      status = hand_over(w, error);
  }
  if (status != PLATELAG_OK)
    return status;
  add_footer(w);
  return w->text.length > 0 || !w->begun ? hand_over(w, error) : PLATELAG_OK;
}

platelag_status plag_export_write(const plag_export_layout *layout, const plag_record *record,
                                  const platelag_sink *sink, platelag_error *error) {
  plag_export_writer w = {.layout = layout,
                          .record = record,
                          .sink = sink,
                          .separator = layout->separator != 0 ? layout->separator : ',',
                          .decimal = layout->decimal != 0 ? layout->decimal : '.',
                          .first_in_row = true};
  (void)snprintf(w.vehicle, sizeof w.vehicle, "Shuttle %02u", record->vehicle % 100);
  const platelag_status status = plag_export_make_names(&w)
                                     ? write_all(&w, error)
                                     : plag_error_memory(error, "the header of a practice capture");
  for (size_t index = 0; w.names != NULL && index < record->channel_count; index++)
    plag_text_clear(&w.names[index]);
  free(w.names);
  plag_text_clear(&w.text);
  plag_text_clear(&w.encoded);
  plag_text_clear(&w.cell);
  return status;
}
