/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/layout.h"

#include <string.h>

#include "core/error.h"
#include "read/column_name.h"
#include "read/layout_search.h"

enum {
  SAMPLE_BYTES = 8192, /* what is looked at: at least so much, and so many lines */
  SAMPLE_LINES = 120
};

/* A candidate of another separator that comes so near makes the choice a guess. */
static const double near_score = 0.85;

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

/* "key: value", "key = value", or a key and a value in two cells. */
static bool read_entry(const plag_layout_search *s, size_t index, plag_preamble_entry *entry) {
  const plag_row row = plag_layout_row_at(s, index);
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

static platelag_status read_preamble(plag_layout_search *s, platelag_error *error) {
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

/* Without a header the columns are as many as the table's rows have cells, and have no names. */
static platelag_status number_columns(plag_layout_search *s, platelag_error *error) {
  plag_column_head *column = plag_arena_take_array(s->arena, s->score.width, sizeof *column);
  if (column == NULL)
    return plag_error_memory(error, "the columns of a capture");
  for (size_t i = 0; i < s->score.width; i++)
    column[i] = (plag_column_head){"", "", ""};
  s->layout->column = column;
  s->layout->column_count = s->score.width;
  return PLATELAG_OK;
}

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

static platelag_status refuse_no_table(const plag_layout_search *s, platelag_error *error) {
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

static platelag_status note_guesses(plag_layout_search *s, platelag_error *error) {
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
static bool is_table(const plag_layout_search *s) {
  if (s->score.score <= 0)
    return false;
  if (s->data < s->row_count)
    return true;
  return s->header + 1 == s->row_count ||
         (s->header + 2 == s->row_count && plag_layout_is_unit_row(s, s->row_count - 1));
}

platelag_status plag_layout_find(const char *head, size_t length, const char *file,
                                 plag_arena *arena, plag_layout *out, platelag_error *error) {
  *out = (plag_layout){0};
  plag_layout_search s = {.file = file, .arena = arena, .layout = out};
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
  platelag_status status = plag_layout_look_at_rows(&s, error);
  if (status != PLATELAG_OK)
    return status;
  plag_layout_find_parts(&s);
  if (!is_table(&s))
    return refuse_no_table(&s, error);

  out->separator = s.score.separator;
  out->decimal = s.score.decimal;
  out->quoting = s.score.quoting;
  out->data_line = s.data < s.row_count ? s.row[s.data].line : 0;
  status = s.header < s.data ? plag_layout_read_header(&s, error) : number_columns(&s, error);
  if (status == PLATELAG_OK)
    status = read_preamble(&s, error);
  if (status == PLATELAG_OK)
    status = note_guesses(&s, error);
  return status;
}
