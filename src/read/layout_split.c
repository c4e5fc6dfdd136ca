/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/layout_split.h"

#include <string.h>

enum { MOST_LINE_ENDS_IN_QUOTES = 32 };

static bool is_blank(char character) {
  return character == ' ' || character == '\t' || character == '\n';
}

static plag_cell trimmed(const char *from, const char *to) {
  while (from < to && is_blank(*from))
    from++;
  while (to > from && is_blank(to[-1]))
    to--;
  return (plag_cell){.text = from, .length = (size_t)(to - from)};
}

/* The end of a quoted cell whose opening quote stands before `at`: the quote that only blanks and a
 * separator or line end follow. NULL when there is none near. */
static const char *closing_quote(const plag_splitter *splitter, const char *at, int64_t *lines) {
  const char *end = splitter->text + splitter->length;
  int64_t passed = 0;
  for (; at < end; at++) {
    passed += *at == '\n';
    if (passed > MOST_LINE_ENDS_IN_QUOTES)
      return NULL;
    if (*at != '"')
      continue;
    if (at + 1 < end && at[1] == '"') {
      at++;
      continue;
    }
    const char *behind = at + 1;
    while (behind < end && is_blank(*behind) && *behind != '\n' && *behind != splitter->separator)
      behind++;
    if (behind == end || *behind == '\n' || *behind == splitter->separator) {
      *lines += passed;
      return at;
    }
  }
  return NULL;
}

/* Splits from `at`; returns where the row's line end is. */
static const char *split_cells(const plag_splitter *splitter, const char *at,
                               plag_split_cells *cells, size_t *count, int64_t *lines) {
  const char *end = splitter->text + splitter->length;
  for (;;) {
    const char *from = at;
    while (from < end && is_blank(*from) && *from != '\n' && *from != splitter->separator)
      from++;
    const char *close = NULL;
    if (splitter->quoting && from < end && *from == '"')
      close = closing_quote(splitter, from + 1, lines);
    if (close != NULL)
      at = close + 1;
    while (at < end && *at != splitter->separator && *at != '\n')
      at++;
    if (*count <= PLAG_MOST_COLUMNS)
      cells->cell[(*count)++] = close != NULL ? trimmed(from + 1, close) : trimmed(from, at);
    if (at == end || *at == '\n')
      return at;
    at++;
  }
}

bool plag_split_next(plag_splitter *splitter, plag_split_cells *cells, plag_row *row) {
  const char *end = splitter->text + splitter->length;
  const char *at = splitter->text + splitter->at;
  bool after_blank = false;
  for (;;) {
    const char *look = at;
    while (look < end && is_blank(*look) && *look != '\n' && *look != splitter->separator)
      look++;
    if (look == end)
      return false;
    if (*look != '\n')
      break;
    after_blank = true;
    splitter->line++;
    at = look + 1;
  }
  size_t count = 0;
  int64_t lines = 0;
  const char *stop = split_cells(splitter, at, cells, &count, &lines);
  *row = (plag_row){
      .line = splitter->line, .count = count, .cell = cells->cell, .after_blank = after_blank};
  splitter->line += lines + 1;
  splitter->at = stop == end ? splitter->length : (size_t)(stop - splitter->text) + 1;
  return true;
}
