/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/export.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "core/number.h"

enum { CHUNK_BYTES = 128 * 1024, ROWS_A_HEADER = 250, ROWS_A_BACK_STEP = 97, BACK_STEP_MS = 20 };

/* What is being written. */
typedef struct writer {
  const plag_export_layout *layout;
  const plag_record *record;
  const platelag_sink *sink;
  char separator, decimal;
  plag_text text; /* UTF-8 with LF, not yet handed over */
  plag_text encoded;
  plag_text cell;
  plag_text *names; /* of the channels, with units where the layout puts them there */
  size_t row;       /* being written, from 0 */
  bool begun;       /* bytes were handed over */
  bool first_in_row;
  char vehicle[16];
  bool failed; /* memory ran out for a cell */
} writer;

static platelag_status hand_over(writer *w, platelag_error *error) {
  plag_text_reset(&w->encoded);
  plag_export_encode(w->layout, !w->begun, &w->text, &w->encoded);
  if (w->text.failed || w->encoded.failed || w->cell.failed || w->failed)
    return plag_error_memory(error, "the text of a practice capture");
  w->begun = true;
  plag_text_reset(&w->text);
  return w->sink->write(w->sink->context, w->encoded.bytes, w->encoded.length, error);
}

/* --- cells ----------------------------------------------------------------------------------- */

/* A cell is built anew; that an earlier one lacked memory is not forgotten. */
static void begin_cell(writer *w) {
  w->failed = w->failed || w->cell.failed;
  plag_text_reset(&w->cell);
}

static void add_cell(writer *w, const char *cell) {
  if (!w->first_in_row)
    plag_text_add_char(&w->text, w->separator);
  w->first_in_row = false;
  const char special[] = {w->separator, '"', '\n', '\0'};
  if (!w->layout->quote_all && strpbrk(cell, special) == NULL) {
    plag_text_add(&w->text, cell);
    return;
  }
  plag_text_add_char(&w->text, '"');
  for (; *cell != '\0'; cell++) {
    if (*cell == '"')
      plag_text_add_char(&w->text, '"');
    plag_text_add_char(&w->text, *cell);
  }
  plag_text_add_char(&w->text, '"');
}

static void end_row(writer *w) {
  plag_text_add_char(&w->text, '\n');
  w->first_in_row = true;
}

static const char *cell_text(const writer *w) {
  return w->cell.bytes != NULL ? w->cell.bytes : "";
}

static void add_clock(writer *w, int64_t stamp_ms) {
  const plag_export_clock clock = w->layout->clock;
  if (clock == PLAG_CLOCK_NONE)
    return;
  if (clock == PLAG_CLOCK_ROW_NUMBER) {
    begin_cell(w);
    plag_text_add_format(&w->cell, "%zu", w->row + 1);
    add_cell(w, cell_text(w));
    return;
  }
  if (clock == PLAG_CLOCK_DATE_AND_TIME) {
    begin_cell(w);
    plag_export_clock_add(clock, w->decimal, stamp_ms, true, &w->cell);
    add_cell(w, cell_text(w));
  }
  begin_cell(w);
  plag_export_clock_add(clock, w->decimal, stamp_ms, false, &w->cell);
  add_cell(w, cell_text(w));
}

/* A number in the layout's notation, to the cell. */
static void put_number(writer *w, double value, int decimals) {
  char digits[PLAG_NUMBER_TEXT_BYTES];
  plag_number_format(value, decimals, digits);
  size_t whole = strcspn(digits, ".");
  for (size_t at = 0; digits[at] != '\0'; at++) {
    const bool at_group = at > 0 && at < whole && (whole - at) % 3 == 0 && digits[at - 1] != '-';
    if (at_group && w->layout->group != NULL)
      plag_text_add(&w->cell, w->layout->group);
    plag_text_add_char(&w->cell, digits[at] == '.' ? w->decimal : digits[at]);
  }
}

static void add_value(writer *w, const plag_record_channel *channel, double value) {
  begin_cell(w);
  const char *unit = plag_export_channel_unit(channel, w->layout->language);
  if (isnan(value)) {
    plag_text_add(&w->cell, w->layout->missing != NULL ? w->layout->missing : "");
  } else if (channel->quantity == PLAG_QUANTITY_SWITCH) {
    plag_text_add(&w->cell, plag_export_state_word(w->layout->language, value > 0));
  } else {
    put_number(w, value, channel->decimals);
    if (w->layout->units == PLAG_UNITS_CELLS && unit[0] != '\0')
      plag_text_add_format(&w->cell, " %s", unit);
  }
  add_cell(w, cell_text(w));
}

/* --- the header ------------------------------------------------------------------------------ */

/* "Engine speed" and "rpm" -> "engine_speed_rpm". */
static void make_snake(plag_text *name, const char *unit) {
  static const struct {
    const char *unit, *suffix;
  } suffixes[] = {{"%", "pct"}, {"% ref", "pct_ref"}, {"\u00b0C", "degc"}, {"km/h", "kmh"}};
  const char *suffix = unit;
  for (size_t index = 0; index < sizeof suffixes / sizeof suffixes[0]; index++)
    if (strcmp(unit, suffixes[index].unit) == 0)
      suffix = suffixes[index].suffix;
  if (suffix[0] != '\0')
    plag_text_add_format(name, "_%s", suffix);
  for (size_t at = 0; at < name->length; at++) {
    const char byte = name->bytes[at];
    if (byte >= 'A' && byte <= 'Z')
      name->bytes[at] = (char)(byte - 'A' + 'a');
    else if ((byte >= 0x20 && byte < '0') || (byte > '9' && byte < 'A'))
      name->bytes[at] = '_';
  }
}

/* Puts the unit to a name in the layout's way; nothing where it stands elsewhere or is none. */
static void put_unit(const plag_export_layout *layout, plag_text *name, const char *unit) {
  if (layout->units == PLAG_UNITS_SUFFIX) {
    make_snake(name, unit);
    return;
  }
  if (unit[0] == '\0' || layout->shape == PLAG_SHAPE_LONG)
    return;
  static const char *const before[] = {" (", " [", ", ", " / "};
  static const char *const after[] = {")", "]", "", ""};
  if (layout->units < PLAG_UNITS_SUFFIX)
    plag_text_add_format(name, "%s%s%s", before[layout->units], unit, after[layout->units]);
}

static void break_name(plag_text *name) {
  char *blank = name->bytes != NULL ? strrchr(name->bytes, ' ') : NULL;
  if (blank != NULL)
    *blank = '\n';
}

static bool make_names(writer *w) {
  const plag_record *record = w->record;
  w->names = calloc(record->channel_count, sizeof *w->names);
  if (w->names == NULL)
    return false;
  for (size_t index = 0; index < record->channel_count; index++) {
    const plag_record_channel *channel = &record->channel[index];
    plag_export_channel_name(channel, w->layout->language, &w->names[index]);
    put_unit(w->layout, &w->names[index], plag_export_channel_unit(channel, w->layout->language));
    if (w->names[index].failed)
      return false;
    if (w->layout->broken_names)
      break_name(&w->names[index]);
  }
  return true;
}

static void add_clock_head(writer *w) {
  const plag_export_layout *layout = w->layout;
  if (layout->clock == PLAG_CLOCK_NONE)
    return;
  if (layout->clock == PLAG_CLOCK_ROW_NUMBER) {
    add_cell(w, "No.");
    return;
  }
  if (layout->clock == PLAG_CLOCK_DATE_AND_TIME)
    add_cell(w, plag_export_frame_word(layout->language, PLAG_WORD_DATE));
  begin_cell(w);
  plag_text_add(&w->cell, plag_export_frame_word(layout->language, PLAG_WORD_TIME));
  const char *unit = plag_export_clock_unit(layout->clock);
  /* Where units stand in cells, or in a column, the clock's has no other place than its name. */
  const bool elsewhere = layout->units == PLAG_UNITS_CELLS || layout->shape == PLAG_SHAPE_LONG;
  if (elsewhere && unit[0] != '\0')
    plag_text_add_format(&w->cell, " (%s)", unit);
  else
    put_unit(layout, &w->cell, unit);
  add_cell(w, cell_text(w));
}

static void end_data_row(writer *w, bool trailing) {
  if (trailing)
    plag_text_add_char(&w->text, w->separator);
  end_row(w);
}

static void add_long_header(writer *w) {
  static const plag_export_word words[] = {PLAG_WORD_CHANNEL, PLAG_WORD_VALUE, PLAG_WORD_UNIT};
  add_clock_head(w);
  for (size_t index = 0; index < sizeof words / sizeof words[0]; index++)
    add_cell(w, plag_export_frame_word(w->layout->language, words[index]));
  end_row(w);
}

static void add_units_row(writer *w) {
  if (w->layout->vehicle_column)
    add_cell(w, "");
  if (w->layout->clock == PLAG_CLOCK_DATE_AND_TIME)
    add_cell(w, "");
  add_cell(w, plag_export_clock_unit(w->layout->clock));
  for (size_t index = 0; index < w->record->channel_count; index++)
    add_cell(w, plag_export_channel_unit(&w->record->channel[index], w->layout->language));
  end_data_row(w, w->layout->trailing_in_header);
}

static void add_kind_row(writer *w) {
  add_cell(w, "stamp");
  for (size_t index = 0; index < w->record->channel_count; index++)
    add_cell(w, "measured");
  end_data_row(w, w->layout->trailing_in_header);
}

/* The first position; the record always has one. */
static size_t position_of(const plag_record *record) {
  size_t index = 0;
  while (record->channel[index].quantity != PLAG_QUANTITY_POSITION)
    index++;
  return index;
}

static void add_header(writer *w) {
  const plag_export_layout *layout = w->layout;
  if (layout->no_header)
    return;
  if (layout->shape == PLAG_SHAPE_LONG) {
    add_long_header(w);
    return;
  }
  if (layout->vehicle_column)
    add_cell(w, plag_export_frame_word(layout->language, PLAG_WORD_VEHICLE));
  if (layout->shape != PLAG_SHAPE_CLOCK_PER_CHANNEL)
    add_clock_head(w);
  for (size_t index = 0; index < w->record->channel_count; index++) {
    if (layout->shape == PLAG_SHAPE_CLOCK_PER_CHANNEL)
      add_clock_head(w);
    add_cell(w, w->names[index].bytes);
  }
  if (layout->repeated_position)
    add_cell(w, w->names[position_of(w->record)].bytes);
  end_data_row(w, layout->trailing_in_header);
  if (layout->units == PLAG_UNITS_ROW)
    add_units_row(w);
  if (layout->kind_row)
    add_kind_row(w);
}

/* --- the frame ------------------------------------------------------------------------------- */

static void add_preamble(writer *w) {
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

static void add_footer(writer *w) {
  if (w->layout->footer)
    plag_text_add_format(&w->text, "\nEnd of recording\nRows: %zu\n", w->record->row_count);
}

/* --- the shapes ------------------------------------------------------------------------------ */

static void add_wide_row(writer *w, int64_t stamp_ms, const double *value) {
  if (w->layout->vehicle_column)
    add_cell(w, w->vehicle);
  add_clock(w, stamp_ms);
  size_t count = w->record->channel_count;
  while (w->layout->ragged && count > 0 && isnan(value[count - 1]))
    count--;
  for (size_t index = 0; index < count; index++)
    if (w->layout->on_change && w->row > 0 &&
        value[index] == *(value + index - w->record->channel_count))
      add_cell(w, "");
    else
      add_value(w, &w->record->channel[index], value[index]);
  if (w->layout->repeated_position) {
    const size_t index = position_of(w->record);
    add_value(w, &w->record->channel[index], value[index]);
  }
  end_data_row(w, w->layout->trailing_separator);
}

static void add_clock_per_channel_row(writer *w, int64_t stamp_ms, const double *value) {
  for (size_t index = 0; index < w->record->channel_count; index++) {
    add_clock(w, stamp_ms);
    add_value(w, &w->record->channel[index], value[index]);
  }
  end_data_row(w, w->layout->trailing_separator);
}

static void add_long_rows(writer *w, int64_t stamp_ms, const double *value) {
  for (size_t index = 0; index < w->record->channel_count; index++) {
    const plag_record_channel *channel = &w->record->channel[index];
    if (isnan(value[index]))
      continue;
    add_clock(w, stamp_ms);
    add_cell(w, w->names[index].bytes);
    add_value(w, channel, value[index]);
    add_cell(w, plag_export_channel_unit(channel, w->layout->language));
    end_data_row(w, w->layout->trailing_separator);
  }
}

static void add_sparse_rows(writer *w, int64_t stamp_ms, const double *value) {
  const size_t count = w->record->channel_count;
  for (size_t polled = 0; polled < count; polled++) {
    if (isnan(value[polled]))
      continue;
    add_clock(w, stamp_ms);
    for (size_t index = 0; index < count; index++)
      if (index == polled)
        add_value(w, &w->record->channel[index], value[index]);
      else
        add_cell(w, "");
    end_data_row(w, w->layout->trailing_separator);
  }
}

static void (*const add_rows[])(writer *w, int64_t stamp_ms, const double *value) = {
    [PLAG_SHAPE_WIDE] = add_wide_row,
    [PLAG_SHAPE_CLOCK_PER_CHANNEL] = add_clock_per_channel_row,
    [PLAG_SHAPE_LONG] = add_long_rows,
    [PLAG_SHAPE_SPARSE] = add_sparse_rows};

static bool begins_second_run(const writer *w, size_t row) {
  return w->layout->two_runs && row == w->record->row_count / 2;
}

static int64_t stamp_of(const writer *w, size_t row) {
  const int64_t *stamp_ms = w->record->stamp_ms;
  const size_t half = w->record->row_count / 2;
  if (w->layout->two_runs && row >= half)
    return stamp_ms[row] - stamp_ms[half];
  if (w->layout->back_steps && row % ROWS_A_BACK_STEP == ROWS_A_BACK_STEP - 1)
    return stamp_ms[row - 1] - BACK_STEP_MS;
  return stamp_ms[row];
}

static platelag_status write_all(writer *w, platelag_error *error) {
  const plag_record *record = w->record;
  platelag_status status = PLATELAG_OK;
  add_preamble(w);
  add_header(w);
  for (size_t row = 0; row < record->row_count && status == PLATELAG_OK; row++) {
    if ((w->layout->repeated_header && row > 0 && row % ROWS_A_HEADER == 0) ||
        begins_second_run(w, row))
      add_header(w);
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
  writer w = {.layout = layout,
              .record = record,
              .sink = sink,
              .separator = layout->separator != 0 ? layout->separator : ',',
              .decimal = layout->decimal != 0 ? layout->decimal : '.',
              .first_in_row = true};
  (void)snprintf(w.vehicle, sizeof w.vehicle, "Shuttle %02u", record->vehicle % 100);
  const platelag_status status = make_names(&w)
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
