/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/layout.h"

#include <string.h>

#include "core/error.h"
#include "read/column_name.h"
#include "read/layout_score.h"
#include "read/units.h"

enum {
  SAMPLE_BYTES = 8192, /* what is looked at: at least so much, and so many lines */
  SAMPLE_LINES = 120,
  MOST_ROWS = 4096,
  MOST_HEADER_ROWS = 4,
  LATE_HEADER_ROWS = 3 /* a header may stand so many rows behind a preamble that looks like data */
};

/* A candidate of another separator that comes so near makes the choice a guess. */
static const double near_score = 0.85;

/* What one row of the sample looks like. */
typedef struct row_look {
  size_t at; /* in the text */
  int64_t line;
  size_t count;
  size_t values; /* numbers and times */
  size_t marks;  /* missing marks and state words */
  size_t texts;
  size_t units; /* of the texts and marks: known units, or none ("-", "") */
  bool after_blank;
} row_look;

/* What is worked on. */
typedef struct search {
  const char *file;
  plag_arena *arena;
  plag_splitter splitter; /* at the first row behind a line that names the separator */
  plag_split_cells *cells;
  plag_layout_score score;
  row_look *row;
  size_t row_count;
  size_t header; /* index of the first header row */
  size_t data;   /* index of the first data row; row_count when there is none */
  plag_layout *layout;
} search;

/* --- the line that names the separator ----------------------------------------------------------
 */

/* "sep=;" or "\"sep=;\"" on the first line; returns the separator and how long the line is. */
static char named_separator(const char *text, size_t length, size_t *line_length) {
  const char *end = memchr(text, '\n', length);
  const size_t size = end == NULL ? length : (size_t)(end - text);
  *line_length = end == NULL ? length : size + 1;
  const size_t quote = size > 0 && text[0] == '"';
  if (size < quote + 5 || strncasecmp(text + quote, "sep=", 4) != 0)
    return 0;
  const char separator = text[quote + 4];
  const size_t rest = size - quote - 5;
  const bool alone = rest == 0 || (rest == 1 && text[size - 1] == '"') ||
                     strspn(text + quote + 5, ",; \t\"") >= rest;
  return alone && strchr(",;\t|", separator) != NULL ? separator : 0;
}

/* --- the rows -----------------------------------------------------------------------------------
 */

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

static row_look look_at(const plag_row *row, size_t at, char decimal) {
  row_look look = {
      .at = at, .line = row->line, .count = row->count, .after_blank = row->after_blank};
  for (size_t i = 0; i < row->count && i < PLAG_MOST_COLUMNS; i++) {
    const unsigned looks = plag_looks_of(row->cell[i]);
    if (plag_looks_like_value(looks, decimal))
      look.values++;
    else if ((looks & (PLAG_LOOKS_MISSING | PLAG_LOOKS_STATE)) != 0)
      look.marks++;
    else
      look.texts++;
    look.units += looks_like_unit(row->cell[i]);
  }
  return look;
}

static platelag_status look_at_rows(search *s, platelag_error *error) {
  s->row = plag_arena_take_array(s->arena, MOST_ROWS, sizeof *s->row);
  if (s->row == NULL)
    return plag_error_memory(error, "the layout of a capture");
  plag_splitter splitter = s->splitter;
  plag_row row;
  size_t at = splitter.at;
  while (s->row_count < MOST_ROWS && plag_split_next(&splitter, s->cells, &row)) {
    s->row[s->row_count++] = look_at(&row, at, s->score.decimal);
    at = splitter.at;
  }
  return PLATELAG_OK;
}

static bool is_data(const search *s, size_t index) {
  const row_look *row = &s->row[index];
  const bool wide = row->count + 1 >= s->score.width && row->count <= s->score.width + 1;
  return wide && row->values > 0 && 5 * (row->values + row->marks) >= 2 * row->count;
}

static bool is_header(const search *s, size_t index) {
  const row_look *row = &s->row[index];
  return row->count >= 2 && row->count + 1 >= s->score.width && row->values == 0 &&
         row->texts + row->units > 0;
}

/* Whether two rows are the same text, as a header repeated in mid-file is. */
static bool is_repeated(const search *s, size_t one, size_t other) {
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
static size_t first_data(const search *s) {
  for (size_t i = 0; i < s->row_count; i++) {
    const bool last = i + 1 == s->row_count;
    if (is_data(s, i) && (last || is_data(s, i + 1) || (i + 2 < s->row_count && is_data(s, i + 2))))
      return i;
  }
  return s->row_count;
}

/* The same, unless the header comes soon behind it: then it was a preamble as wide as the table. */
static size_t find_data(const search *s) {
  const size_t found = first_data(s);
  for (size_t i = found + 1; i + 1 < s->row_count && i <= found + LATE_HEADER_ROWS; i++) {
    const bool header = is_header(s, i) && s->row[i].texts + 1 >= s->score.width;
    if (header && is_data(s, i + 1) && (found == 0 || !is_repeated(s, found - 1, i)))
      return i + 1;
  }
  return found;
}

/* The rows right above the data that hold no value, up to a blank line. */
static size_t find_header(const search *s) {
  size_t first = s->data;
  while (first > 0 && s->data - first < MOST_HEADER_ROWS && is_header(s, first - 1)) {
    first--;
    if (s->row[first].after_blank)
      break;
  }
  return first;
}

/* --- the header ---------------------------------------------------------------------------------
 */

/* The cells of a row of the sample; valid until the next call. */
static plag_row row_at(const search *s, size_t index) {
  plag_splitter splitter = s->splitter;
  splitter.at = s->row[index].at;
  plag_row row = {0};
  (void)plag_split_next(&splitter, s->cells, &row);
  return row;
}

static bool is_unit_row(const search *s, size_t index) {
  const row_look *row = &s->row[index];
  const size_t named = row->count > row->marks
                           ? row->units - (row->units < row->marks ? row->units : row->marks)
                           : 0;
  return 2 * row->units > row->count && named > 0;
}

/* How many different texts stand in a row. */
static size_t different_texts(const search *s, size_t index) {
  const plag_row row = row_at(s, index);
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
static void choose_header_rows(const search *s, size_t *names, size_t *units) {
  *units = s->row_count;
  if (s->data - s->header > 1)
    for (size_t i = s->header; i < s->data; i++)
      if (is_unit_row(s, i))
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

static platelag_status name_columns(search *s, size_t names, platelag_error *error) {
  plag_layout *layout = s->layout;
  const plag_row row = row_at(s, names);
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
static platelag_status add_units(search *s, size_t units, platelag_error *error) {
  plag_column_head *column = (plag_column_head *)s->layout->column;
  const plag_row row = row_at(s, units);
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
static platelag_status check_width(search *s, platelag_error *error) {
  plag_layout *layout = s->layout;
  if (s->data == s->row_count)
    return PLATELAG_OK;
  size_t widest = 0;
  for (size_t i = s->data; i < s->row_count; i++)
    if (is_data(s, i) && s->row[i].count > widest)
      widest = s->row[i].count;
  if (widest < layout->column_count)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, s->file, s->row[s->data].line, 0,
                          "rows of %zu cells under a header of %zu columns; as many cells as names "
                          "were expected, since which name belongs to which cell cannot be told",
                          widest, layout->column_count);
  if (s->score.width > layout->column_count) {
    const plag_row row = row_at(s, s->data);
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

static platelag_status read_header(search *s, platelag_error *error) {
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

/* Without a header the columns are as many as the table's rows have cells, and have no names. */
static platelag_status number_columns(search *s, platelag_error *error) {
  plag_column_head *column = plag_arena_take_array(s->arena, s->score.width, sizeof *column);
  if (column == NULL)
    return plag_error_memory(error, "the columns of a capture");
  for (size_t i = 0; i < s->score.width; i++)
    column[i] = (plag_column_head){"", "", ""};
  s->layout->column = column;
  s->layout->column_count = s->score.width;
  return PLATELAG_OK;
}

/* --- the preamble -------------------------------------------------------------------------------
 */

/* "key: value", "key = value", or a key and a value in two cells. */
static bool read_entry(const search *s, size_t index, plag_preamble_entry *entry) {
  const plag_row row = row_at(s, index);
  plag_cell key = row.cell[0];
  plag_cell value = {"", 0};
  for (size_t i = 0; i < key.length && row.count == 1; i++) {
    if (key.text[i] != ':' && key.text[i] != '=')
      continue;
    value = (plag_cell){key.text + i + 1, key.length - i - 1};
    key.length = i;
  }
  if (row.count > 1)
    value = row.cell[1];
  while (value.length > 0 && value.text[0] == ' ')
    value = (plag_cell){value.text + 1, value.length - 1};
  *entry = (plag_preamble_entry){.line = row.line,
                                 .key = plag_column_clean(s->arena, key),
                                 .value = plag_column_clean(s->arena, value)};
  entry->line = s->row[index].line;
  return entry->key != NULL && entry->value != NULL;
}

static platelag_status read_preamble(search *s, platelag_error *error) {
  plag_preamble_entry *entry = plag_arena_take_array(s->arena, s->header + 1, sizeof *entry);
  if (entry == NULL)
    return plag_error_memory(error, "the lines before the header");
  for (size_t i = 0; i < s->header; i++)
    if (!read_entry(s, i, &entry[i]))
      return plag_error_memory(error, "the lines before the header");
  s->layout->preamble = entry;
  s->layout->preamble_count = s->header;
  const int64_t first = s->header < s->row_count ? s->row[s->header].line : s->splitter.line;
  s->layout->preamble_lines = first - 1;
  return PLATELAG_OK;
}

/* --- the whole ----------------------------------------------------------------------------------
 */

static const char *name_of(char separator) {
  switch (separator) {
  case ',':
    return "comma";
  case ';':
    return "semicolon";
  case '\t':
    return "tab";
  default:
    return "pipe";
  }
}

/* How much of the head is looked at: whole lines. */
static size_t sample_length(const char *text, size_t length) {
  const char *at = text;
  const char *end = text + length;
  for (size_t lines = 0; at < end && (lines < SAMPLE_LINES || at < text + SAMPLE_BYTES); lines++) {
    const char *next = memchr(at, '\n', (size_t)(end - at));
    at = next == NULL ? end : next + 1;
  }
  return (size_t)(at - text);
}

static platelag_status refuse_no_table(const search *s, platelag_error *error) {
  const char *text = s->splitter.text + s->splitter.at;
  size_t left = s->splitter.length - s->splitter.at;
  while (left > 0 && (*text == '\n' || *text == ' ' || *text == '\t')) {
    text++;
    left--;
  }
  if (left == 0)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, s->file, 0, 0,
                          "the file is empty; a header and rows of values were expected");
  const char *end = memchr(text, '\n', left);
  const size_t length = end == NULL ? left : (size_t)(end - text);
  return plag_error_set(error, PLATELAG_ERROR_INPUT, s->file, 1, 0,
                        "no table found, the file begins \"%.*s\"; a header and rows of values, "
                        "parted by comma, semicolon, tab or pipe, were expected",
                        (int)(length < 40 ? length : 40), text);
}

static platelag_status note_guesses(search *s, platelag_error *error) {
  const plag_layout_score *score = &s->score;
  platelag_note *note = plag_arena_take_array(s->arena, 2, sizeof *note);
  if (note == NULL)
    return plag_error_memory(error, "notes");
  size_t count = 0;
  if (score->next_best > near_score * score->score)
    note[count++].text =
        plag_arena_format(s->arena, "the separator was taken for a %s; another fits nearly as well",
                          name_of(score->separator));
  if (score->even && score->decimal == ',')
    note[count++].text =
        plag_arena_copy_text(s->arena, "the comma was taken for the decimal mark; no number tells");
  for (size_t i = 0; i < count; i++) {
    note[i].count = 1;
    if (note[i].text == NULL)
      return plag_error_memory(error, "notes");
  }
  s->layout->note = note;
  s->layout->note_count = count;
  return PLATELAG_OK;
}

/* Text all over is no table, but a header and its units without any row is one. */
static bool is_table(const search *s) {
  if (s->score.score <= 0)
    return false;
  if (s->data < s->row_count)
    return true;
  return s->header + 1 == s->row_count ||
         (s->header + 2 == s->row_count && is_unit_row(s, s->row_count - 1));
}

platelag_status plag_layout_find(const char *head, size_t length, const char *file,
                                 plag_arena *arena, plag_layout *out, platelag_error *error) {
  *out = (plag_layout){0};
  search s = {.file = file, .arena = arena, .layout = out};
  s.cells = plag_arena_take(arena, sizeof *s.cells);
  if (s.cells == NULL)
    return plag_error_memory(error, "the layout of a capture");
  size_t first_line = 0;
  const char named = named_separator(head, length, &first_line);
  const size_t skip = named == 0 ? 0 : first_line;
  const size_t sample = sample_length(head + skip, length - skip);
  s.score = plag_layout_score_all(head + skip, sample, named, s.cells);
  s.splitter = (plag_splitter){.text = head,
                               .length = skip + sample,
                               .separator = s.score.separator,
                               .quoting = s.score.quoting,
                               .at = skip,
                               .line = named == 0 ? 1 : 2};
  platelag_status status = look_at_rows(&s, error);
  if (status != PLATELAG_OK)
    return status;
  s.data = find_data(&s);
  s.header = find_header(&s);
  if (!is_table(&s))
    return refuse_no_table(&s, error);

  out->separator = s.score.separator;
  out->decimal = s.score.decimal;
  out->quoting = s.score.quoting;
  out->data_line = s.data < s.row_count ? s.row[s.data].line : 0;
  status = s.header < s.data ? read_header(&s, error) : number_columns(&s, error);
  if (status == PLATELAG_OK)
    status = read_preamble(&s, error);
  if (status == PLATELAG_OK)
    status = note_guesses(&s, error);
  return status;
}
