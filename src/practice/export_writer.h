/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture while it is written: its cells, its header. */
#ifndef PLAG_PRACTICE_EXPORT_WRITER_H
#define PLAG_PRACTICE_EXPORT_WRITER_H

#include "practice/export.h"

typedef struct plag_export_writer {
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
} plag_export_writer;

/* --- cells ----------------------------------------------------------------------------------- */

/* Begins `w->cell` anew; that an earlier one lacked memory is not forgotten. */
void plag_export_begin_cell(plag_export_writer *w);
/* What it holds; "" where that is nothing. */
const char *plag_export_cell_text(const plag_export_writer *w);

/* Adds a cell to the row, in quotes where it needs them. */
void plag_export_add_cell(plag_export_writer *w, const char *cell);
/* Adds a stamp in the layout's clock, which may be two cells or none. */
void plag_export_add_stamp(plag_export_writer *w, int64_t stamp_ms);
/* Adds a channel's value in the layout's notation; NaN is missing. */
void plag_export_add_value(plag_export_writer *w, const plag_record_channel *channel, double value);

void plag_export_end_row(plag_export_writer *w);
/* The same for a row as wide as the header; `trailing`: with a separator behind. */
void plag_export_end_data_row(plag_export_writer *w, bool trailing);

/* --- the header ------------------------------------------------------------------------------ */

/* Makes `w->names`, which the caller clears and frees. False without memory. */
bool plag_export_make_names(plag_export_writer *w);
/* Adds the header's rows; none where the layout has none. */
void plag_export_add_header(plag_export_writer *w);

/* The first position of a record, which always has one. */
size_t plag_export_position(const plag_record *record);

#endif
