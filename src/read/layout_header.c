/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rows of the header: which names the columns, which tells units, and whether names and cells
 * match. */
#include <string.h>

#include "core/error.h"
#include "read/column_name.h"
#include "read/layout_search.h"

/* The cells of a row of the sample; valid until the next call. */
plag_row plag_layout_row_at(const plag_layout_search *s, size_t index) {
  plag_splitter splitter = s->splitter;
  splitter.at = s->row[index].at;
  plag_row row = {0};
  (void)plag_split_next(&splitter, s->cells, &row);
  return row;
}

bool plag_layout_is_unit_row(const plag_layout_search *s, size_t index) {
  const plag_row_look *row = &s->row[index];
  const size_t named = row->count > row->marks
                           ? row->units - (row->units < row->marks ? row->units : row->marks)
                           : 0;
  return 2 * row->units > row->count && named > 0;
}

/* How many different texts stand in a row. */
static size_t different_texts(const plag_layout_search *s, size_t index) {
  const plag_row row = plag_layout_row_at(s, index);
  size_t different = 0;
  for (size_t i = 0; i < row.count && i < PLAG_MOST_COLUMNS; i++) {
    bool seen = row.cell[i].length == 0;
    for (size_t k = i > 32 ? i - 32 : 0; k < i && !seen; k++)
      seen = row.cell[k].length == row.cell[i].length &&
             memcmp(row.cell[k].text, row.cell[i].text, row.cell[i].length) == 0;
    different += !seen;
  }
  return different;
}

/* Which of the header rows names the columns, and which tells their units (row_count: none). The
 * names are the most different texts; of two alike, the row nearer to the data. */
static void choose_header_rows(const plag_layout_search *s, size_t *names, size_t *units) {
  *units = s->row_count;
  if (s->data - s->header > 1)
    for (size_t i = s->header; i < s->data; i++)
      if (plag_layout_is_unit_row(s, i))
        *units = i;
  *names = s->row_count;
  size_t best = 0;
  for (size_t i = s->header; i < s->data; i++) {
    const size_t different = i == *units ? 0 : different_texts(s, i);
    if (i != *units && different >= best) {
      best = different;
      *names = i;
    }
  }
}

static platelag_status name_columns(plag_layout_search *s, size_t names, platelag_error *error) {
  plag_layout *layout = s->layout;
  const plag_row row = plag_layout_row_at(s, names);
  size_t count = row.count;
  while (count > 0 && row.cell[count - 1].length == 0)
    count--;
  layout->trailing_separator = count < row.count;
  plag_column_head *column = plag_arena_take_array(s->arena, count + 1, sizeof *column);
  if (column == NULL)
    return plag_error_memory(error, "the names of the columns");
  for (size_t i = 0; i < count; i++) {
    column[i].full_name = plag_column_clean(s->arena, row.cell[i]);
    if (column[i].full_name == NULL ||
        !plag_column_part(s->arena, column[i].full_name, &column[i].name, &column[i].unit))
      return plag_error_memory(error, "the names of the columns");
  }
  layout->column = column;
  layout->column_count = count;
  return PLATELAG_OK;
}

/* Takes units from their row for columns whose name tells none. */
static platelag_status add_units(plag_layout_search *s, size_t units, platelag_error *error) {
  plag_column_head *column = (plag_column_head *)s->layout->column;
  const plag_row row = plag_layout_row_at(s, units);
  for (size_t i = 0; i < row.count && i < s->layout->column_count; i++) {
    if (column[i].unit[0] != '\0' || row.cell[i].length == 0)
      continue;
    const char *text = plag_column_clean(s->arena, row.cell[i]);
    column[i].unit = text == NULL ? NULL : plag_column_unit(s->arena, text);
    if (column[i].unit == NULL)
      return plag_error_memory(error, "the units of the columns");
  }
  return PLATELAG_OK;
}

/* Names by position would be wrong where all rows have more or fewer cells than there are names. */
static platelag_status check_width(plag_layout_search *s, platelag_error *error) {
  plag_layout *layout = s->layout;
  if (s->data == s->row_count)
    return PLATELAG_OK;
  size_t widest = 0;
  for (size_t i = s->data; i < s->row_count; i++)
    if (plag_layout_is_data(s, i) && s->row[i].count > widest)
      widest = s->row[i].count;
  if (widest < layout->column_count)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, s->file, s->row[s->data].line, 0,
                          "rows of %zu cells under a header of %zu columns; as many cells as names "
                          "were expected, since which name belongs to which cell cannot be told",
                          widest, layout->column_count);
  if (s->score.width > layout->column_count) {
    const plag_row row = plag_layout_row_at(s, s->data);
    for (size_t i = layout->column_count; i < row.count; i++)
      if (row.cell[i].length > 0 && s->score.width == row.count)
        return plag_error_set(error, PLATELAG_ERROR_INPUT, s->file, s->row[s->data].line,
                              (int64_t)i + 1,
                              "rows of %zu cells under a header of %zu columns; as many cells as "
                              "names were expected, since which name belongs to which cell cannot "
                              "be told",
                              row.count, layout->column_count);
    layout->trailing_separator = true;
  }
  return PLATELAG_OK;
}

platelag_status plag_layout_read_header(plag_layout_search *s, platelag_error *error) {
  size_t names, units;
  choose_header_rows(s, &names, &units);
  s->layout->has_header = true;
  s->layout->header_line = s->row[s->header].line;
  s->layout->header_rows = (int)(s->data - s->header);
  platelag_status status = name_columns(s, names, error);
  if (status == PLATELAG_OK && units < s->row_count)
    status = add_units(s, units, error);
  if (status == PLATELAG_OK)
    status = check_width(s, error);
  return status;
}
