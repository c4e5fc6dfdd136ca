/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/export_writer.h"

#include <math.h>
#include <string.h>

#include "core/number.h"

void plag_export_begin_cell(plag_export_writer *w) {
  w->failed = w->failed || w->cell.failed;
  plag_text_reset(&w->cell);
}

void plag_export_add_cell(plag_export_writer *w, const char *cell) {
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

void plag_export_end_row(plag_export_writer *w) {
  plag_text_add_char(&w->text, '\n');
  w->first_in_row = true;
}

const char *plag_export_cell_text(const plag_export_writer *w) {
  return w->cell.bytes != NULL ? w->cell.bytes : "";
}

void plag_export_add_stamp(plag_export_writer *w, int64_t stamp_ms) {
  const plag_export_clock clock = w->layout->clock;
  if (clock == PLAG_CLOCK_NONE)
    return;
  if (clock == PLAG_CLOCK_ROW_NUMBER) {
    plag_export_begin_cell(w);
    plag_text_add_format(&w->cell, "%zu", w->row + 1);
    plag_export_add_cell(w, plag_export_cell_text(w));
    return;
  }
  if (clock == PLAG_CLOCK_DATE_AND_TIME) {
    plag_export_begin_cell(w);
    plag_export_clock_add(clock, w->decimal, stamp_ms, true, &w->cell);
    plag_export_add_cell(w, plag_export_cell_text(w));
  }
  plag_export_begin_cell(w);
  plag_export_clock_add(clock, w->decimal, stamp_ms, false, &w->cell);
  plag_export_add_cell(w, plag_export_cell_text(w));
}

/* A number in the layout's notation, to the cell. */
static void put_number(plag_export_writer *w, double value, int decimals) {
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

void plag_export_add_value(plag_export_writer *w, const plag_record_channel *channel,
                           double value) {
  plag_export_begin_cell(w);
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
  plag_export_add_cell(w, plag_export_cell_text(w));
}

void plag_export_end_data_row(plag_export_writer *w, bool trailing) {
  if (trailing)
    plag_text_add_char(&w->text, w->separator);
  plag_export_end_row(w);
}
