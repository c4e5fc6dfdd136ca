/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "practice/export_writer.h"

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

bool plag_export_make_names(plag_export_writer *w) {
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

static void add_clock_head(plag_export_writer *w) {
  const plag_export_layout *layout = w->layout;
  if (layout->clock == PLAG_CLOCK_NONE)
    return;
  if (layout->clock == PLAG_CLOCK_ROW_NUMBER) {
    plag_export_add_cell(w, "No.");
    return;
  }
  if (layout->clock == PLAG_CLOCK_DATE_AND_TIME)
    plag_export_add_cell(w, plag_export_frame_word(layout->language, PLAG_WORD_DATE));
  plag_export_begin_cell(w);
  plag_text_add(&w->cell, plag_export_frame_word(layout->language, PLAG_WORD_TIME));
  const char *unit = plag_export_clock_unit(layout->clock);
  /* Where units stand in cells, or in a column, the clock's has no other place than its name. */
  const bool elsewhere = layout->units == PLAG_UNITS_CELLS || layout->shape == PLAG_SHAPE_LONG;
  if (elsewhere && unit[0] != '\0')
    plag_text_add_format(&w->cell, " (%s)", unit);
  else
    put_unit(layout, &w->cell, unit);
  plag_export_add_cell(w, plag_export_cell_text(w));
}

static void add_long_header(plag_export_writer *w) {
  static const plag_export_word words[] = {PLAG_WORD_CHANNEL, PLAG_WORD_VALUE, PLAG_WORD_UNIT};
  add_clock_head(w);
  for (size_t index = 0; index < sizeof words / sizeof words[0]; index++)
    plag_export_add_cell(w, plag_export_frame_word(w->layout->language, words[index]));
  plag_export_end_row(w);
}

static void add_units_row(plag_export_writer *w) {
  if (w->layout->vehicle_column)
    plag_export_add_cell(w, "");
  if (w->layout->clock == PLAG_CLOCK_DATE_AND_TIME)
    plag_export_add_cell(w, "");
  plag_export_add_cell(w, plag_export_clock_unit(w->layout->clock));
  for (size_t index = 0; index < w->record->channel_count; index++)
    plag_export_add_cell(w,
                         plag_export_channel_unit(&w->record->channel[index], w->layout->language));
  plag_export_end_data_row(w, w->layout->trailing_in_header);
}

static void add_kind_row(plag_export_writer *w) {
  plag_export_add_cell(w, "stamp");
  for (size_t index = 0; index < w->record->channel_count; index++)
    plag_export_add_cell(w, "measured");
  plag_export_end_data_row(w, w->layout->trailing_in_header);
}

size_t plag_export_position(const plag_record *record) {
  size_t index = 0;
  while (record->channel[index].quantity != PLAG_QUANTITY_POSITION)
    index++;
  return index;
}

void plag_export_add_header(plag_export_writer *w) {
  const plag_export_layout *layout = w->layout;
  if (layout->no_header)
    return;
  if (layout->shape == PLAG_SHAPE_LONG) {
    add_long_header(w);
    return;
  }
  if (layout->vehicle_column)
    plag_export_add_cell(w, plag_export_frame_word(layout->language, PLAG_WORD_VEHICLE));
  if (layout->shape != PLAG_SHAPE_CLOCK_PER_CHANNEL)
    add_clock_head(w);
  for (size_t index = 0; index < w->record->channel_count; index++) {
    if (layout->shape == PLAG_SHAPE_CLOCK_PER_CHANNEL)
      add_clock_head(w);
    plag_export_add_cell(w, w->names[index].bytes);
  }
  if (layout->repeated_position)
    plag_export_add_cell(w, w->names[plag_export_position(w->record)].bytes);
  plag_export_end_data_row(w, layout->trailing_in_header);
  if (layout->units == PLAG_UNITS_ROW)
    add_units_row(w);
  if (layout->kind_row)
    add_kind_row(w);
}
