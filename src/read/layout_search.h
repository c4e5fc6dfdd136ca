/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What layout.c, layout_rows.c and layout_header.c share while one file's layout is found. */
#ifndef PLAG_READ_LAYOUT_SEARCH_H
#define PLAG_READ_LAYOUT_SEARCH_H

#include "read/layout.h"
#include "read/layout_score.h"

/* What one row of the sample looks like. */
typedef struct plag_row_look {
  size_t at; /* in the text */
  int64_t line;
  size_t count;
  size_t values; /* numbers and times */
  size_t marks;  /* missing marks and state words */
  size_t texts;
  size_t units; /* of the texts and marks: known units, or none ("-", "") */
  bool after_blank;
} plag_row_look;

/* What is worked on. */
typedef struct plag_layout_search {
  const char *file;
  plag_arena *arena;
  plag_splitter splitter; /* at the first row behind a line that names the separator */
  plag_split_cells *cells;
  plag_layout_score score;
  plag_row_look *row;
  size_t row_count;
  size_t header; /* index of the first header row */
  size_t data;   /* index of the first data row; row_count when there is none */
  plag_layout *layout;
} plag_layout_search;

/* Looks at all rows of the sample: s->row. */
platelag_status plag_layout_look_at_rows(plag_layout_search *s, platelag_error *error);

/* Sets s->header and s->data; they are equal where there is no header, and row_count where there is
 * no data. */
void plag_layout_find_parts(plag_layout_search *s);

/* Whether a row of the sample is one of data: about as wide as the table, with values in it. */
bool plag_layout_is_data(const plag_layout_search *s, size_t index);

/* Whether a row above the data tells units. */
bool plag_layout_is_unit_row(const plag_layout_search *s, size_t index);

/* The cells of a row of the sample; valid until the next call. */
plag_row plag_layout_row_at(const plag_layout_search *s, size_t index);

/* Reads names and units into s->layout, or refuses where names and cells do not match. */
platelag_status plag_layout_read_header(plag_layout_search *s, platelag_error *error);

#endif
