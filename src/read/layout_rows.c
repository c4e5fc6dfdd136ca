/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which rows of the sample are preamble, header and data. */
#include <string.h>

#include "core/error.h"
#include "read/layout_search.h"
#include "read/units.h"

enum {
  MOST_ROWS = 4096,
  ENOUGH_DATA_ROWS = 64, /* one behind the other: the table has begun */
  MOST_HEADER_ROWS = 4,
  LATE_HEADER_ROWS = 3 /* a header may stand so many rows behind a preamble that looks like data */
};

static bool looks_like_unit(plag_cell cell) {
  if (cell.length == 0 || (cell.length == 1 && cell.text[0] == '-'))
    return true;
  const char *text = cell.text;
  size_t length = cell.length;
  if (length >= 2 && strchr("([{", text[0]) != NULL) {
    text++;
    length -= 2;
  }
  return length == 0 || plag_unit_find(text, length) != NULL;
}

static plag_row_look look_at(const plag_row *row, size_t at, char decimal) {
  plag_row_look look = {
      .at = at, .line = row->line, .count = row->count, .after_blank = row->after_blank};
  for (size_t i = 0; i < row->count && i < PLAG_MOST_COLUMNS; i++) {
    const unsigned looks = plag_looks_of(row->cell[i]);
    if (plag_looks_like_value(looks, decimal)) {
      look.values++;
      continue; /* and no unit */
    }
    if ((looks & (PLAG_LOOKS_MISSING | PLAG_LOOKS_STATE)) != 0)
      look.marks++;
    else
      look.texts++;
    look.units += looks_like_unit(row->cell[i]);
  }
  return look;
}

platelag_status plag_layout_look_at_rows(plag_layout_search *s, platelag_error *error) {
  s->row = plag_arena_take_array(s->arena, MOST_ROWS, sizeof *s->row);
  if (s->row == NULL)
    return plag_error_memory(error, "the layout of a capture");
  plag_splitter splitter = s->splitter;
  plag_row row;
  size_t at = splitter.at;
  size_t data_rows = 0;
  while (s->row_count < MOST_ROWS && data_rows < ENOUGH_DATA_ROWS &&
         plag_split_next(&splitter, s->cells, &row)) {
    s->row[s->row_count++] = look_at(&row, at, s->score.decimal);
    const bool whole = s->row[s->row_count - 1].count >= s->score.width;
    data_rows = whole && plag_layout_is_data(s, s->row_count - 1) ? data_rows + 1 : 0;
    at = splitter.at;
  }
  return PLATELAG_OK;
}

bool plag_layout_is_data(const plag_layout_search *s, size_t index) {
  const plag_row_look *row = &s->row[index];
  const bool wide = row->count + 1 >= s->score.width && row->count <= s->score.width + 1;
  return wide && row->values > 0 && 5 * (row->values + row->marks) >= 2 * row->count;
}

static bool is_header(const plag_layout_search *s, size_t index) {
  const plag_row_look *row = &s->row[index];
  return row->count >= 2 && row->count + 1 >= s->score.width && row->values == 0 &&
         row->texts + row->units > 0;
}

/* Whether two rows are the same text, as a header repeated in mid-file is. */
static bool is_repeated(const plag_layout_search *s, size_t one, size_t other) {
  const char *first = s->splitter.text + s->row[one].at;
  const char *second = s->splitter.text + s->row[other].at;
  const char *end = s->splitter.text + s->splitter.length;
  while (second < end && *first == *second && *first != '\n') {
    first++;
    second++;
  }
  return second < end && *first == '\n' && *second == '\n';
}

/* The first row of values that the next row, or the one behind it, confirms. */
static size_t first_data(const plag_layout_search *s) {
  for (size_t i = 0; i < s->row_count; i++) {
    const bool last = i + 1 == s->row_count;
    if (plag_layout_is_data(s, i) && (last || plag_layout_is_data(s, i + 1) ||
                                      (i + 2 < s->row_count && plag_layout_is_data(s, i + 2))))
      return i;
  }
  return s->row_count;
}

/* The same, unless the header comes behind it: then it was a preamble that looks like data. It does
 * so soon, or every row before it holds fewer values than the data. */
static size_t find_data(const plag_layout_search *s) {
  const size_t found = first_data(s);
  const bool headed =
      found > 0 && is_header(s, found - 1) && s->row[found - 1].count >= s->score.width;
  size_t most = 0;
  for (size_t i = found; i + 1 < s->row_count; i++) {
    const bool header = i > found && is_header(s, i) && s->row[i].texts + 1 >= s->score.width;
    const bool poorer = !headed && most < s->row[i + 1].values;
    if (header && (poorer || i <= found + LATE_HEADER_ROWS) && plag_layout_is_data(s, i + 1) &&
        (found == 0 || !is_repeated(s, found - 1, i)))
      return i + 1;
    if (s->row[i].values > most)
      most = s->row[i].values;
  }
  return found;
}

/* The rows right above the data that hold no value, up to a blank line. */
static size_t find_header(const plag_layout_search *s) {
  size_t first = s->data;
  while (first > 0 && s->data - first < MOST_HEADER_ROWS && is_header(s, first - 1)) {
    first--;
    if (s->row[first].after_blank)
      break;
  }
  return first;
}

/* Rows right above the data that are wider than the table, full of values and right under a header:
 * data as well, with cells too many. */
static size_t include_wider(const plag_layout_search *s, size_t data) {
  size_t first = data;
  while (first > 0 && data - first < LATE_HEADER_ROWS) {
    const plag_row_look *row = &s->row[first - 1];
    if (row->count <= s->score.width || 5 * (row->values + row->marks) < 4 * row->count)
      break;
    first--;
  }
  return first > 0 && is_header(s, first - 1) ? first : data;
}

void plag_layout_find_parts(plag_layout_search *s) {
  s->data = include_wider(s, find_data(s));
  s->header = find_header(s);
}
