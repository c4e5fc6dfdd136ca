/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines are found here; those with quotes are given to libcsv one by one, so that at each line end
 * it is known whether a row ended there: this gives line numbers, and a row that quotes hold open
 * can be read again. The raw text of the open row stays in the window until the row is done. */
#include "read/rows.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include <csv.h>

#include "core/error.h"
#include "read/decode.h"
#include "read/decompress.h"
#include "read/note_list.h"
#include "read/open_row.h"

enum {
  HEAD_BYTES = 256 * 1024,
  MOST_LINE_ENDS_IN_QUOTES = 32, /* headers have two or three; more is an unbalanced quote */
  MOST_REPAIRS = 8,              /* unbalanced quotes after which all quotes are plain characters */
  LEAST_ALIKE = 3,               /* rows of one width that make a table */
  LEAST_PAIRS = 40,              /* the same for rows of two cells */
  PARSER_BLOCK_BYTES = 4096
};

struct plag_rows {
  const char *file;
  platelag_source source;
  plag_decompress *decompress;
  plag_decoder *decoder;
  plag_note_list notes;

  char *window; /* decoded text; what lies before `at` is done with */
  size_t window_size;
  size_t at;      /* start of the open row */
  size_t fed;     /* up to here libcsv has it; a line start */
  size_t scanned; /* up to here there is no line end behind `fed` */
  size_t end;
  size_t quote;    /* the first quote from some place on; `end` where there is none, ... */
  bool quote_told; /* ... once it was looked for in this window */
  bool ended;      /* the decoder is at its end */
  bool unended;    /* the last line had no line end; one was added */
  int64_t line;    /* of `at` */
  int64_t lines;   /* from `at` to `fed` */
  size_t head_size;

  struct csv_parser parser;
  char separator;
  bool split;       /* plag_rows_split was called */
  bool quoting;     /* quotes mean something in this file */
  bool quoting_now; /* and in this row */
  size_t repairs;

  plag_open_row row;
  size_t last_count; /* cells of the row before */
  size_t alike;      /* rows before it that have as many */
  bool blank_before;
};

/* Puts libcsv at the start of a row, with nothing of it taken. */
static void restart_row(plag_rows *rows) {
  csv_free(&rows->parser);
  /* REPALL_NL: blank lines are reported too, so that "no row end" always means open quotes. */
  (void)csv_init(&rows->parser, CSV_REPALL_NL);
  csv_set_blk_size(&rows->parser, PARSER_BLOCK_BYTES);
  csv_set_delim(&rows->parser, (unsigned char)rows->separator);
  /* Decoded text holds no NUL: as the quote it means that there is none. */
  csv_set_quote(&rows->parser, rows->quoting_now ? '"' : '\0');
  rows->fed = rows->at;
  rows->scanned = rows->at;
  rows->lines = 0;
  plag_open_row_forget(&rows->row);
}

/* The row in the window is done. */
static void step_over_row(plag_rows *rows) {
  rows->at = rows->fed;
  rows->line += rows->lines;
  rows->lines = 0;
  if (rows->quoting_now != rows->quoting) {
    rows->quoting_now = rows->quoting;
    restart_row(rows);
  }
  plag_open_row_forget(&rows->row);
}

static int64_t count_lines(const char *text, size_t length) {
  int64_t count = 0;
  for (const char *from = text, *end = text + length;
       (from = memchr(from, '\n', (size_t)(end - from))) != NULL; from++)
    count++;
  return count;
}

/* Gives the window, and the row's text with it, another size. One byte more is there for a line
 * end that the file lacks. */
static platelag_status resize_window(plag_rows *rows, size_t size, platelag_error *error) {
  char *window = realloc(rows->window, size + 1);
  if (window == NULL)
    return plag_error_memory(error, "the rows of a capture");
  rows->window = window;
  if (!plag_open_row_make_room(&rows->row, size + 1))
    return plag_error_memory(error, "the rows of a capture");
  rows->window_size = size;
  return PLATELAG_OK;
}

/* Fills the rest of the window, or up to the end of the file. */
static platelag_status read_on(plag_rows *rows, platelag_error *error) {
  rows->quote_told = false;
  int64_t line = rows->line + count_lines(rows->window + rows->at, rows->end - rows->at);
  while (!rows->ended && rows->window_size - rows->end >= PLAG_DECODE_LEAST_BYTES) {
    size_t got = 0;
    char *text = rows->window + rows->end;
    const platelag_status status =
        plag_decode_read(rows->decoder, line, text, rows->window_size - rows->end, &got, error);
    if (status != PLATELAG_OK)
      return status;
    if (got == 0)
      rows->ended = true;
    else
      line += count_lines(text, got);
    rows->end += got;
  }
  if (rows->ended && rows->end > rows->at && rows->window[rows->end - 1] != '\n') {
    rows->window[rows->end++] = '\n';
    rows->unended = true;
  }
  return PLATELAG_OK;
}

static platelag_status refuse_long_row(const plag_rows *rows, platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, rows->file, rows->line, 0,
                        "a row of more than %d bytes; a table with shorter rows was expected",
                        PLAG_LONGEST_ROW_BYTES);
}

/* Moves the open row to the front, makes room, and reads. */
static platelag_status refill(plag_rows *rows, platelag_error *error) {
  const size_t open = rows->end - rows->at;
  if (open > PLAG_LONGEST_ROW_BYTES)
    return refuse_long_row(rows, error);
  memmove(rows->window, rows->window + rows->at, open);
  rows->fed -= rows->at;
  rows->scanned -= rows->at;
  rows->end = open;
  rows->at = 0;
  /* At least half the window is read at a time, so that long rows are not moved over and over. */
  if (open > rows->window_size / 2) {
    const platelag_status status = resize_window(rows, 2 * rows->window_size, error);
    if (status != PLATELAG_OK)
      return status;
    if (rows->row.count > 0 || rows->fed > 0)
      restart_row(rows); /* the text of its cells has moved */
  }
  return read_on(rows, error);
}

/* Whether every line of the open row has `width` cells when quotes are plain characters. */
static bool lines_have_width(const plag_rows *rows, size_t width) {
  size_t count = 1;
  for (size_t i = rows->at; i < rows->fed; i++) {
    if (rows->window[i] == '\n') {
      if (count != width)
        return false;
      count = 1;
    } else {
      count += rows->window[i] == rows->separator;
    }
  }
  return true;
}

/* Quotes become plain characters in the first line of the open row, which is read again. */
static void repair_quote(plag_rows *rows) {
  const char *row = rows->window + rows->at;
  const char *quote = memchr(row, '"', rows->fed - rows->at);
  const int64_t column = quote == NULL ? 0 : 1 + (int64_t)(quote - row);
  rows->repairs++;
  if (rows->repairs < MOST_REPAIRS) {
    (void)plag_note_list_add(&rows->notes, rows->line, column,
                             "a quote without its partner; quotes were read as plain characters "
                             "in this line");
  } else {
    rows->quoting = false;
    (void)plag_note_list_add(&rows->notes, rows->line, column,
                             "the %dth quote without its partner; from here on all quotes were "
                             "read as plain characters",
                             MOST_REPAIRS);
  }
  rows->quoting_now = false;
  restart_row(rows);
}

/* Whether the row that has just ended, over several lines, swallowed others: each of its lines
 * alone has the width of the rows before. A cell that really holds line ends cannot do that without
 * holding as many separators as well. Pairs (key and value) need more rows before them to count as
 * a table.
 */
static bool swallowed_rows(const plag_rows *rows) {
  const size_t least = rows->last_count == 2 ? LEAST_PAIRS : LEAST_ALIKE;
  return rows->quoting_now && rows->lines > 1 && rows->last_count > 1 && rows->alike >= least &&
         lines_have_width(rows, rows->last_count);
}

/* Whether a quote stands among these bytes of the window, which lie behind those asked for before,
 * or are the same; most files have none, and are searched through once. */
static bool has_quote(plag_rows *rows, size_t from, size_t length) {
  if (!rows->quote_told || rows->quote < from) {
    const char *quote = memchr(rows->window + from, '"', rows->end - from);
    rows->quote = quote == NULL ? rows->end : (size_t)(quote - rows->window);
    rows->quote_told = true;
  }
  return rows->quote < from + length;
}

static bool is_plain_line(plag_rows *rows, size_t length) {
  return rows->fed == rows->at && (!rows->quoting_now || !has_quote(rows, rows->fed, length));
}

/* Takes the next line, which ends before `next`. */
static platelag_status feed_line(plag_rows *rows, size_t next, platelag_error *error) {
  const size_t length = next - rows->fed;
  const char *line = rows->window + rows->fed;
  /* Most lines of most files need neither libcsv nor a copy. */
  if (is_plain_line(rows, length))
    plag_open_row_split_line(&rows->row, line, length, rows->separator);
  else if (csv_parse(&rows->parser, line, length, plag_open_row_take_cell, plag_open_row_take_end,
                     &rows->row) != length)
    return plag_error_memory(error, "the cells of a row");
  rows->fed = next;
  rows->scanned = next;
  rows->lines++;
  return PLATELAG_OK;
}

/* Whether quotes have held the row open for too long to be meant. */
static bool is_held_open(const plag_rows *rows) {
  return rows->lines > MOST_LINE_ENDS_IN_QUOTES ||
         rows->fed - rows->at > (size_t)PLAG_LONGEST_CELL_BYTES;
}

/* The file ended with quotes open. In its last line that is a cell cut off, before it a quote
 * without its partner. */
static void end_open_quotes(plag_rows *rows) {
  if (rows->lines > 1) {
    repair_quote(rows);
    return;
  }
  (void)csv_fini(&rows->parser, plag_open_row_take_cell, plag_open_row_take_end, &rows->row);
  rows->row.ended = true;
  rows->unended = true;
}

/* Reads the rest of the open row from the window; false in `*ready` when more is needed. */
static platelag_status parse_row(plag_rows *rows, bool *ready, platelag_error *error) {
  *ready = false;
  while (!rows->row.ended) {
    const char *newline = memchr(rows->window + rows->scanned, '\n', rows->end - rows->scanned);
    if (newline == NULL) {
      rows->scanned = rows->end;
      if (!rows->ended || rows->fed == rows->at)
        return PLATELAG_OK;
      end_open_quotes(rows);
      continue;
    }
    const platelag_status status = feed_line(rows, (size_t)(newline - rows->window) + 1, error);
    if (status != PLATELAG_OK)
      return status;
    const bool held = !rows->row.ended && is_held_open(rows);
    const bool longer = rows->row.ended && rows->row.long_cell > 0 && rows->quoting_now &&
                        memchr(rows->window + rows->at, '"', rows->fed - rows->at) != NULL;
    if (held || longer || (rows->row.ended && swallowed_rows(rows)))
      repair_quote(rows);
  }
  *ready = true;
  return PLATELAG_OK;
}

static void lend_row(plag_rows *rows, plag_row *row) {
  *row = (plag_row){.line = rows->line,
                    .count = rows->row.count,
                    .cell = rows->row.cell,
                    .after_blank = rows->blank_before,
                    .cut = rows->unended && rows->fed == rows->end};
  rows->alike = rows->row.count == rows->last_count ? rows->alike + 1 : 1;
  rows->last_count = rows->row.count;
  rows->blank_before = false;
}

platelag_status plag_rows_next(plag_rows *rows, plag_row *row, bool *more, platelag_error *error) {
  assert(rows->split);
  *more = false;
  for (;;) {
    step_over_row(rows);
    bool ready = false;
    while (!ready) {
      platelag_status status = parse_row(rows, &ready, error);
      if (status != PLATELAG_OK)
        return status;
      if (!ready && rows->ended)
        return rows->notes.failed ? plag_error_memory(error, "notes") : PLATELAG_OK;
      if (!ready)
        status = refill(rows, error);
      if (status != PLATELAG_OK)
        return status;
    }
    if (!plag_open_row_is_good(&rows->row))
      return plag_open_row_refuse(&rows->row, rows->file, rows->line, error);
    if (rows->fed - rows->at > PLAG_LONGEST_ROW_BYTES)
      return refuse_long_row(rows, error);
    if (rows->row.count > 0)
      break;
    rows->blank_before = true;
  }
  lend_row(rows, row);
  *more = true;
  return PLATELAG_OK;
}

/* The first decoded bytes up to the last line end among them. */
static platelag_status read_head(plag_rows *rows, platelag_error *error) {
  platelag_status status = resize_window(rows, HEAD_BYTES, error);
  if (status == PLATELAG_OK)
    status = read_on(rows, error);
  if (status != PLATELAG_OK)
    return status;
  const char *last = rows->end == 0 ? NULL : memrchr(rows->window, '\n', rows->end);
  rows->head_size = last == NULL ? rows->end : (size_t)(last - rows->window) + 1;
  return PLATELAG_OK;
}

platelag_status plag_rows_open(const platelag_source *source, const char *file, plag_rows **out,
                               platelag_error *error) {
  *out = NULL;
  plag_rows *rows = calloc(1, sizeof *rows);
  if (rows == NULL)
    return plag_error_memory(error, "the rows of a capture");
  rows->file = file;
  rows->line = 1;
  (void)csv_init(&rows->parser, 0);
  platelag_status status = plag_decompress_open(source, file, &rows->decompress, error);
  if (status != PLATELAG_OK)
    goto fail;
  rows->source = plag_decompress_bytes(rows->decompress);
  status = plag_decode_open(&rows->source, file, &rows->notes, &rows->decoder, error);
  if (status != PLATELAG_OK)
    goto fail;
  status = read_head(rows, error);
  if (status != PLATELAG_OK)
    goto fail;
  *out = rows;
  return PLATELAG_OK;
fail:
  plag_rows_destroy(rows);
  return status;
}

const char *plag_rows_head(const plag_rows *rows, size_t *length) {
  *length = rows->head_size;
  return rows->window;
}

void plag_rows_split(plag_rows *rows, char separator, bool quoting) {
  assert(!rows->split);
  rows->split = true;
  rows->separator = separator;
  rows->quoting = quoting;
  rows->quoting_now = quoting;
  restart_row(rows);
}

const char *plag_rows_encoding(const plag_rows *rows) {
  return plag_decode_encoding(rows->decoder);
}

const char *plag_rows_compression(const plag_rows *rows) {
  return plag_decompress_name(rows->decompress);
}

size_t plag_rows_note_count(const plag_rows *rows) {
  return rows->notes.count;
}

const platelag_note *plag_rows_note_at(const plag_rows *rows, size_t index) {
  assert(index < rows->notes.count);
  return &rows->notes.note[index];
}

void plag_rows_destroy(plag_rows *rows) {
  if (rows == NULL)
    return;
  csv_free(&rows->parser);
  plag_decode_destroy(rows->decoder);
  plag_decompress_destroy(rows->decompress);
  plag_note_list_clear(&rows->notes);
  free(rows->window);
  plag_open_row_clear(&rows->row);
  free(rows);
}
