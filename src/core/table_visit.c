/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <csv.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "core/array.h"
#include "core/error.h"
#include "core/escape.h"
#include "core/table.h"
#include "core/text.h"

/* What libcsv's room for a cell grows by: by 128 bytes, as it comes, a cell of megabytes would be
 * copied again and again. */
enum { PARSER_BLOCK_BYTES = 65536 };

/* No person keeps a larger one; beyond it the wrong file was named. */
enum { LARGEST_BYTES = 256 << 20 };

typedef struct reader {
  const char *path;
  plag_take_table_row *header, *row;
  void *context;
  plag_text text; /* cells of the row that is being read, each terminated */
  size_t *begin;  /* of each cell in `text` */
  size_t begin_capacity, cell_count;
  const char **cell; /* of the row that is handed over */
  size_t cell_capacity;
  size_t width;     /* the header's; 0 before it */
  int64_t at_line;  /* line that the field just ended in */
  int64_t row_line; /* line that the row began in */
  bool anything;    /* the row holds more than empty cells */
  platelag_status status;
  platelag_error *error;
} reader;

/* --- rows ------------------------------------------------------------------------------------ */

static void end_field(void *bytes, size_t length, void *context) {
  reader *r = context;
  if (r->status != PLATELAG_OK)
    return;
  if (!plag_array_reserve((void **)&r->begin, &r->begin_capacity, r->cell_count + 1,
                          sizeof *r->begin)) {
    r->status = plag_error_memory(r->error, "a table");
    return;
  }
  r->begin[r->cell_count++] = r->text.length;
  r->anything = r->anything || (bytes != NULL && length > 0);
  plag_text_add_bytes(&r->text, bytes != NULL ? bytes : "", bytes != NULL ? length : 0);
  plag_text_add_char(&r->text, '\0');
}

static platelag_status check_header(const reader *r, const plag_table_row *header) {
  if (header->count > PLAG_TABLE_COLUMNS)
    return plag_error_set(r->error, PLATELAG_ERROR_INPUT, r->path, header->line, 0,
                          "%zu columns, expected %d at most", header->count,
                          (int)PLAG_TABLE_COLUMNS);
  for (size_t i = 0; i < header->count; i++)
    if (header->cell[i][0] != '\0' && plag_table_row_find(header, header->cell[i]) != i)
      return plag_error_set(r->error, PLATELAG_ERROR_INPUT, r->path, header->line, 0,
                            "two columns are called \"%s\"", header->cell[i]);
  return PLATELAG_OK;
}

/* The row that was read, as wide as the header. */
static platelag_status hand_over(reader *r) {
  size_t have = r->cell_count;
  while (r->width > 0 && have > r->width && r->text.bytes[r->begin[have - 1]] == '\0')
    have--;
  if (r->width > 0 && have > r->width)
    return plag_error_set(r->error, PLATELAG_ERROR_INPUT, r->path, r->row_line, 0,
                          "%zu cells, expected the header's %zu", have, r->width);
  const bool is_header = r->width == 0;
  const size_t width = is_header ? have : r->width;
  if (r->text.failed ||
      !plag_array_reserve((void **)&r->cell, &r->cell_capacity, width, sizeof *r->cell))
    return plag_error_memory(r->error, "a table");
  for (size_t i = 0; i < width; i++)
    r->cell[i] = i < have ? r->text.bytes + r->begin[i] : "";
  const plag_table_row row = {r->cell, width, r->row_line};
  if (!is_header)
    return r->row(r->context, &row, r->error);
  r->width = width;
  const platelag_status status = check_header(r, &row);
  return status == PLATELAG_OK ? r->header(r->context, &row, r->error) : status;
}

static void end_row(int character, void *context) {
  reader *r = context;
  (void)character;
  if (r->status == PLATELAG_OK && r->text.failed)
    r->status = plag_error_memory(r->error, "a table");
  if (r->status == PLATELAG_OK && r->anything)
    r->status = hand_over(r);
  plag_text_reset(&r->text);
  r->cell_count = 0;
  r->row_line = r->at_line + 1;
  r->anything = false;
}

/* --- text ------------------------------------------------------------------------------------ */

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
static bool feed(reader *r, const char *text, size_t length, struct csv_parser *parser) {
  r->at_line = 1;
  r->row_line = 1;
  for (size_t at = 0; at < length && r->status == PLATELAG_OK;) {
    const size_t bytes = line_bytes(text + at, length - at);
    if (csv_parse(parser, text + at, bytes, end_field, end_row, r) != bytes)
      return false;
    at += bytes;
    r->at_line++;
  }
  return csv_fini(parser, end_field, end_row, r) == 0;
}

static platelag_status parse(reader *r, const char *text, size_t length) {
  struct csv_parser parser;
  const size_t mark = length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
  /* REPALL_NL: end_row hears of blank lines too, so that later rows know theirs. */
  if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_REPALL_NL) != 0)
    return plag_error_memory(r->error, "a table");
  csv_set_blk_size(&parser, PARSER_BLOCK_BYTES);
  csv_set_delim(&parser, separator_of(text + mark, length - mark));
  const bool whole = feed(r, text + mark, length - mark, &parser);
  const bool memory = csv_error(&parser) == CSV_ENOMEM;
  csv_free(&parser);
  if (r->status != PLATELAG_OK)
    return r->status;
  if (memory)
    return plag_error_memory(r->error, "a table");
  if (!whole)
    return plag_error_set(r->error, PLATELAG_ERROR_INPUT, r->path, r->row_line, 0,
                          "a quote that is not closed, or stands inside a cell without quotes");
  return r->width > 0 ? PLATELAG_OK
                      : plag_error_set(r->error, PLATELAG_ERROR_INPUT, r->path, 0, 0,
                                       "the table is empty, expected a header");
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

/* --- the whole ------------------------------------------------------------------------------- */

platelag_status plag_table_visit(const char *path, plag_take_table_row *header,
                                 plag_take_table_row *row, void *context, platelag_error *error) {
  char *text = NULL;
  size_t length = 0;
  reader r = {.path = path, .header = header, .row = row, .context = context, .error = error};
  platelag_status status = load(path, &text, &length, error);
  if (status == PLATELAG_OK)
    status = check_bytes(path, text, length, error);
  if (status == PLATELAG_OK)
    status = parse(&r, text, length);
  free(text);
  free(r.begin);
  free((void *)r.cell);
  plag_text_clear(&r.text);
  return status;
}

size_t plag_table_row_find(const plag_table_row *header, const char *name) {
  for (size_t i = 0; i < header->count; i++)
    if (strcasecmp(header->cell[i], name) == 0)
      return i;
  return SIZE_MAX;
}

const char *plag_table_row_at(const plag_table_row *row, size_t column) {
  return column == SIZE_MAX ? "" : row->cell[column];
}
