/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/table.h"

#include <csv.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "core/array.h"
#include "core/error.h"
#include "core/escape.h"

/* No person keeps a larger one; beyond it the wrong file was named. */
enum { LARGEST_BYTES = 256 << 20 };

typedef struct builder {
  const char *path;
  plag_arena *arena;
  const char **cell; /* of all rows, the header first */
  size_t cell_count, cell_capacity;
  size_t *row_begin;
  size_t row_count, row_capacity;
  int64_t *line;
  size_t line_capacity;
  int64_t at_line;  /* line that the field just ended in */
  int64_t row_line; /* line that the row began in */
  size_t row_first; /* its first cell */
  bool anything;    /* the row holds more than empty cells */
  bool failed;      /* memory */
} builder;

/* A copy of the cell; what is empty, or says the same as the cell above, is kept once: most tables
 * repeat themselves, and some are long. */
static const char *keep_cell(const builder *b, const char *text, size_t length) {
  const size_t column = b->cell_count - b->row_first;
  const size_t above_first = b->row_count > 0 ? b->row_begin[b->row_count - 1] : 0;
  if (length == 0)
    return "";
  if (b->row_count > 0 && above_first + column < b->row_first) {
    const char *above = b->cell[above_first + column];
    if (strlen(above) == length && memcmp(above, text, length) == 0)
      return above;
  }
  return plag_arena_copy_bytes(b->arena, text, length);
}

static void end_field(void *bytes, size_t length, void *context) {
  builder *b = context;
  const char *copy = keep_cell(b, bytes != NULL ? bytes : "", bytes != NULL ? length : 0);
  if (copy == NULL || !plag_array_reserve((void **)&b->cell, &b->cell_capacity, b->cell_count + 1,
                                          sizeof *b->cell)) {
    b->failed = true;
    return;
  }
  b->anything = b->anything || copy[0] != '\0';
  b->cell[b->cell_count++] = copy;
}

static void end_row(int character, void *context) {
  builder *b = context;
  (void)character;
  if (!b->anything) {
    b->cell_count = b->row_first;
  } else if (!plag_array_reserve((void **)&b->row_begin, &b->row_capacity, b->row_count + 1,
                                 sizeof *b->row_begin) ||
             !plag_array_reserve((void **)&b->line, &b->line_capacity, b->row_count + 1,
                                 sizeof *b->line)) {
    b->failed = true;
  } else {
    b->row_begin[b->row_count] = b->row_first;
    b->line[b->row_count++] = b->row_line;
  }
  b->row_first = b->cell_count;
  b->row_line = b->at_line + 1;
  b->anything = false;
}

static bool is_line_end(char character) {
  return character == '\n' || character == '\r';
}

/* Which of the three separates the header: the one it holds most of, outside quotes. */
static unsigned char separator_of(const char *text, size_t length) {
  static const char candidates[] = ",;\t";
  size_t count[3] = {0, 0, 0};
  bool quoted = false;
  size_t at = 0;
  while (at < length && is_line_end(text[at]))
    at++;
  for (; at < length && (quoted || !is_line_end(text[at])); at++) {
    quoted = quoted != (text[at] == '"');
    const char *is = quoted || text[at] == '\0' ? NULL : strchr(candidates, text[at]);
    if (is != NULL)
      count[is - candidates]++;
  }
  const size_t best = count[1] > count[0] ? 1 : 0;
  return (unsigned char)candidates[count[2] > count[best] ? 2 : best];
}

/* Bytes of the first line, its end (LF, CR LF or CR) with them. */
static size_t line_bytes(const char *text, size_t length) {
  size_t at = 0;
  while (at < length && !is_line_end(text[at]))
    at++;
  if (at + 1 < length && text[at] == '\r' && text[at + 1] == '\n')
    at++;
  return at < length ? at + 1 : length;
}

/* libcsv does not tell lines: it is fed one at a time. */
static bool feed(builder *b, const char *text, size_t length, struct csv_parser *parser) {
  b->at_line = 1;
  b->row_line = 1;
  for (size_t at = 0; at < length && !b->failed;) {
    const size_t bytes = line_bytes(text + at, length - at);
    if (csv_parse(parser, text + at, bytes, end_field, end_row, b) != bytes)
      return false;
    at += bytes;
    b->at_line++;
  }
  return csv_fini(parser, end_field, end_row, b) == 0;
}

static platelag_status parse(builder *b, const char *text, size_t length, platelag_error *error) {
  struct csv_parser parser;
  const size_t mark = length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
  /* REPALL_NL: end_row hears of blank lines too, so that later rows know theirs. */
  if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_REPALL_NL) != 0)
    return plag_error_memory(error, "a table");
  csv_set_delim(&parser, separator_of(text + mark, length - mark));
  const bool whole = feed(b, text + mark, length - mark, &parser);
  const bool memory = b->failed || csv_error(&parser) == CSV_ENOMEM;
  csv_free(&parser);
  if (memory)
    return plag_error_memory(error, "a table");
  return whole
             ? PLATELAG_OK
             : plag_error_set(error, PLATELAG_ERROR_INPUT, b->path, b->row_line, 0,
                              "a quote that is not closed, or stands inside a cell without quotes");
}

static platelag_status load(const char *path, char **out, size_t *length, platelag_error *error) {
  FILE *stream = fopen(path, "rb");
  size_t capacity = 0;
  *out = NULL;
  *length = 0;
  if (stream == NULL && errno == ENOMEM)
    return plag_error_memory(error, "a table");
  if (stream == NULL)
    return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, path, 0, 0, "%s", strerror(errno));
  platelag_status status = PLATELAG_OK;
  while (status == PLATELAG_OK && feof(stream) == 0) {
    enum { STEP = 65536 };
    if (!plag_array_reserve((void **)out, &capacity, *length + STEP, 1)) {
      status = plag_error_memory(error, "a table");
      break;
    }
    *length += fread(*out + *length, 1, STEP, stream);
    if (ferror(stream) != 0)
      status = plag_error_set(error, PLATELAG_ERROR_IO, path, 0, 0, "%s", strerror(errno));
    else if (*length > LARGEST_BYTES)
      status = plag_error_set(error, PLATELAG_ERROR_INPUT, path, 0, 0,
                              "larger than 256 MB, expected a table kept by hand");
  }
  (void)fclose(stream);
  return status;
}

static int64_t line_of(const char *text, size_t at) {
  int64_t line = 0;
  for (size_t begin = 0; begin <= at; begin += line_bytes(text + begin, at + 1 - begin))
    line++;
  return line;
}

static platelag_status check_bytes(const char *path, const char *text, size_t length,
                                   platelag_error *error) {
  unsigned point = 0;
  for (size_t at = 0; at < length;) {
    const size_t bytes = plag_utf8_read(text + at, length - at, &point);
    if (bytes == 0 || point == 0)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, path, line_of(text, at), 0,
                            "byte %02x is no UTF-8 text; save the table as UTF-8",
                            (unsigned)(unsigned char)text[at]);
    at += bytes;
  }
  return PLATELAG_OK;
}

static platelag_status check_header(const char *path, const plag_table *table, int64_t line,
                                    platelag_error *error) {
  for (size_t i = 0; i < table->column_count; i++)
    if (table->column[i][0] != '\0' && plag_table_find(table, table->column[i]) != i)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, path, line, 0,
                            "two columns are called \"%s\"", table->column[i]);
  return PLATELAG_OK;
}

/* The rows as a grid as wide as the header. */
static platelag_status lay_out(builder *b, plag_table *out, platelag_error *error) {
  if (b->row_count == 0)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, b->path, 0, 0,
                          "the table is empty, expected a header");
  const size_t width = (b->row_count > 1 ? b->row_begin[1] : b->cell_count) - b->row_begin[0];
  const size_t rows = b->row_count - 1;
  const char **cell = plag_arena_take_array(&out->arena, (rows + 1) * width, sizeof *cell);
  int64_t *line = plag_arena_take_array(&out->arena, rows + 1, sizeof *line);
  if (cell == NULL || line == NULL)
    return plag_error_memory(error, "a table");
  for (size_t row = 0; row <= rows; row++) {
    const size_t end = row < rows ? b->row_begin[row + 1] : b->cell_count;
    size_t have = end - b->row_begin[row];
    while (have > width && b->cell[b->row_begin[row] + have - 1][0] == '\0')
      have--;
    if (have > width)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, b->path, b->line[row], 0,
                            "%zu cells, expected the header's %zu", have, width);
    for (size_t i = 0; i < width; i++)
      cell[row * width + i] = i < have ? b->cell[b->row_begin[row] + i] : "";
    line[row] = b->line[row];
  }
  out->column = cell;
  out->cell = cell + width;
  out->line = line + 1;
  out->column_count = width;
  out->row_count = rows;
  return check_header(b->path, out, b->line[0], error);
}

static platelag_status build(builder *b, const char *text, size_t length, plag_table *out,
                             platelag_error *error) {
  platelag_status status = check_bytes(b->path, text, length, error);
  if (status == PLATELAG_OK)
    status = parse(b, text, length, error);
  return status == PLATELAG_OK ? lay_out(b, out, error) : status;
}

platelag_status plag_table_read(const char *path, plag_table *out, platelag_error *error) {
  char *text = NULL;
  size_t length = 0;
  builder b = {.path = path, .arena = &out->arena};
  platelag_status status = load(path, &text, &length, error);
  if (status == PLATELAG_OK)
    status = build(&b, text, length, out, error);
  free(text);
  free(b.cell);
  free(b.row_begin);
  free(b.line);
  return status;
}

void plag_table_clear(plag_table *table) {
  plag_arena_clear(&table->arena);
  *table = (plag_table){0};
}

size_t plag_table_find(const plag_table *table, const char *name) {
  for (size_t i = 0; i < table->column_count; i++)
    if (strcasecmp(table->column[i], name) == 0)
      return i;
  return SIZE_MAX;
}

const char *plag_table_at(const plag_table *table, size_t row, size_t column) {
  return column == SIZE_MAX ? "" : table->cell[row * table->column_count + column];
}
