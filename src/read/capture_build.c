/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "core/error.h"
#include "read/capture_object.h"
#include "read/roles.h"

static platelag_status copy_notes(platelag_capture *capture, const plag_reader *r,
                                  platelag_error *error) {
  const size_t of_rows = plag_rows_note_count(r->rows);
  const size_t total = r->layout.note_count + of_rows + r->notes.count;
  capture->note = plag_arena_take_array(&capture->arena, total + 1, sizeof *capture->note);
  if (capture->note == NULL)
    return plag_error_memory(error, "the notes");
  for (size_t i = 0; i < total; i++) {
    const platelag_note *note = i < r->layout.note_count ? &r->layout.note[i]
                                : i < r->layout.note_count + of_rows
                                    ? plag_rows_note_at(r->rows, i - r->layout.note_count)
                                    : &r->notes.note[i - r->layout.note_count - of_rows];
    capture->note[i] = *note;
    capture->note[i].text = plag_arena_copy_text(&capture->arena, note->text);
    if (capture->note[i].text == NULL)
      return plag_error_memory(error, "the notes");
  }
  capture->note_count = total;
  return PLATELAG_OK;
}

/* The number of rows after which channels are renewed, as most of those with many levels show. */
static double find_polled(const plag_collector *c) {
  size_t votes[PLAG_REFRESH_ROWS] = {0}, best = 0;
  for (size_t i = 0; i < c->column_count; i++) {
    const bool stepped = plag_role_is_needed(c->column[i].match.role) &&
                         c->column[i].match.role != PLATELAG_ROLE_POSITION;
    const double rows = stepped ? 0 : plag_refresh_rows(&c->column[i].refresh, 0, false);
    if (rows > 1 && rows == floor(rows) && rows < PLAG_REFRESH_ROWS)
      votes[(size_t)rows]++;
  }
  for (size_t i = 2; i < PLAG_REFRESH_ROWS; i++)
    if (votes[i] > 0 && votes[i] >= votes[best])
      best = i;
  return (double)best;
}

static double refresh_of(const plag_collector *c, const plag_column *column, double polled) {
  const double row_period_s = (double)c->clock[0].form.period_ns * 1e-9;
  if (c->shape.kind == PLAG_SHAPE_ONE_CLOCK) {
    const bool stepped =
        column->match.role == PLATELAG_ROLE_COMMAND || column->match.role == PLATELAG_ROLE_DESIRED;
    return plag_refresh_rows(&column->refresh, polled, stepped) * row_period_s;
  }
  if (c->clock[0].form.quantum_ns > 0) {
    const size_t present = column->numbers + column->states;
    const double duration_s = (double)(c->clock[0].last_ns - c->earliest_ns) * 1e-9;
    return present > 1 ? duration_s / (double)(present - 1) : 0;
  }
  return plag_refresh_step_s(&column->refresh);
}

static bool fill_channel(platelag_capture *capture, plag_collector *c, size_t which,
                         double polled) {
  platelag_channel *channel = &capture->channel[which];
  plag_column *column = &c->column[which];
  const bool words = plag_column_kind(column) == PLATELAG_VALUE_WORDS;
  *channel = (platelag_channel){
      .name = plag_arena_copy_text(&capture->arena, column->head.name),
      .unit_text = plag_arena_copy_text(&capture->arena, column->unit_text),
      .unit = column->unit,
      .column = column->index + 1,
      .kind = plag_column_kind(column),
      .role = column->match.role,
      .bank = column->match.bank,
      .role_score = column->match.score,
      .role_reason = plag_arena_copy_text(&capture->arena, column->match.reason),
      .kept = column->kept,
      .present = column->numbers + column->states + (words ? column->words : 0),
      .missing = column->missing,
      .unparsed = words ? 0 : column->words,
      .lowest = column->lowest,
      .highest = column->highest,
      .refresh_s = column->match.role == PLATELAG_ROLE_CLOCK ? 0 : refresh_of(c, column, polled),
  };
  if (column->kept) {
    channel->count = column->count;
    channel->value = column->value;
    channel->time_ns = column->time_ns != NULL ? column->time_ns : c->time_ns;
    capture->value[which] = column->value;
    capture->time_ns[which] = column->time_ns;
    column->value = NULL; /* the capture's from here on */
    column->time_ns = NULL;
  }
  return channel->name != NULL && channel->unit_text != NULL && channel->role_reason != NULL;
}

static platelag_status fill_channels(platelag_capture *capture, plag_collector *c,
                                     platelag_error *error) {
  const size_t count = c->column_count;
  capture->channel = plag_arena_take_array(&capture->arena, count + 1, sizeof(platelag_channel));
  capture->value = plag_arena_take_array(&capture->arena, count + 1, sizeof(double *));
  capture->time_ns = plag_arena_take_array(&capture->arena, count + 1, sizeof(int64_t *));
  if (capture->channel == NULL || capture->value == NULL || capture->time_ns == NULL)
    return plag_error_memory(error, "the channels");
  const double polled = find_polled(c);
  for (size_t i = 0; i < count; i++) {
    capture->channel_count = i + 1;
    if (!fill_channel(capture, c, i, polled))
      return plag_error_memory(error, "the channels");
  }
  capture->shared_time_ns = c->time_ns;
  c->time_ns = NULL;
  return PLATELAG_OK;
}

static platelag_status fill_runs(platelag_capture *capture, plag_collector *c,
                                 platelag_error *error) {
  capture->run_count = c->run_count > 0 ? c->run_count : (size_t)c->current_run + 1;
  capture->run = plag_arena_take_array(&capture->arena, capture->run_count, sizeof(char *));
  if (capture->run == NULL)
    return plag_error_memory(error, "the runs");
  for (size_t i = 0; i < capture->run_count; i++) {
    capture->run[i] = i < c->run_count ? plag_arena_copy_text(&capture->arena, c->run[i]) : "";
    if (capture->run[i] == NULL)
      return plag_error_memory(error, "the runs");
  }
  capture->segment = c->segment;
  capture->segment_count = c->segment_count;
  c->segment = NULL;
  return PLATELAG_OK;
}

static const char *separator_name(char separator) {
  return separator == ','    ? "comma"
         : separator == ';'  ? "semicolon"
         : separator == '\t' ? "tab"
                             : "pipe";
}

static bool fill_reading(platelag_capture *capture, const plag_reader *r) {
  const plag_collector *c = &r->collector;
  const platelag_segment *last = &capture->segment[capture->segment_count - 1];
  platelag_reading *reading = &capture->reading;
  *reading = (platelag_reading){
      .compression = plag_rows_compression(r->rows),
      .encoding = plag_rows_encoding(r->rows),
      .separator = separator_name(r->layout.separator),
      .decimal = r->layout.decimal == ',' ? "comma" : "point",
      .shape = plag_shape_name(c->shape.kind),
      .clock = c->clock[0].form.name,
      .header_line = r->layout.header_line,
      .header_rows = r->layout.header_rows,
      .preamble_lines = r->layout.preamble_lines,
      .rows = c->rows,
      .skipped = c->headers.count + c->remarks.count + c->broken.count + c->cut.count +
                 c->timeless.count + c->clock_bad,
      .row_period_s = (double)c->clock[0].form.period_ns * 1e-9,
      .duration_s = (double)last->to_ns * 1e-9,
      .stored_codes = plag_arena_copy_text(&capture->arena, c->codes),
  };
  plag_started started = plag_started_by_clock(c, &r->sample);
  if (!started.known)
    started = r->preamble;
  reading->started_known = started.known;
  reading->started_zoned = started.zoned;
  reading->started_unix_s = started.unix_s;
  for (size_t i = 0; i < capture->channel_count; i++)
    reading->unparsed += capture->channel[i].unparsed;
  return reading->stored_codes != NULL;
}

/* Takes over what was collected. */
platelag_status plag_capture_build(plag_reader *r, platelag_capture **out, platelag_error *error) {
  platelag_capture *capture = calloc(1, sizeof *capture);
  if (capture == NULL)
    return plag_error_memory(error, "the capture");
  platelag_status status = fill_runs(capture, &r->collector, error);
  if (status == PLATELAG_OK)
    status = fill_channels(capture, &r->collector, error);
  if (status == PLATELAG_OK)
    status = copy_notes(capture, r, error);
  if (status == PLATELAG_OK && !fill_reading(capture, r))
    status = plag_error_memory(error, "the capture");
  capture->name = plag_arena_copy_text(&capture->arena, r->file);
  if (status == PLATELAG_OK && capture->name == NULL)
    status = plag_error_memory(error, "the capture");
  if (status == PLATELAG_OK)
    *out = capture;
  else
    platelag_capture_destroy(capture);
  return status;
}
