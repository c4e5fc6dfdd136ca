/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/layout_score.h"

#include <string.h>

#include "core/number.h"
#include "read/cell.h"
#include "read/clock_text.h"
#include "read/units.h"

enum { MOST_WIDTHS = 32 };

static const char separators[] = {',', ';', '\t', '|'};

/* What a cell adds to the score of its candidate: a value proves a column boundary at both its
 * ends, a missing mark or a state word nearly so, other text hardly, and text in which another
 * candidate's separator stands not at all. */
static const double value_weight = 1, mark_weight = 0.8, text_weight = 0.3;

/* A row of one width adds up here. */
typedef struct width_tally {
  size_t width;
  size_t rows;
  size_t first, last;          /* indices of the first and last such row */
  size_t values_by_decimal[2]; /* point, comma */
  double weight_by_decimal[2];
} width_tally;

unsigned plag_looks_of(plag_cell cell) {
  if (cell.length == 0)
    return PLAG_LOOKS_MISSING;
  double value = 0;
  const size_t used = plag_number_read(cell.text, cell.length, '.', &value);
  if (used == cell.length)
    return plag_cell_hint(cell.text, cell.length) >= PLAG_HINT_DECIMAL_POINT
               ? PLAG_LOOKS_POINT
               : PLAG_LOOKS_POINT | PLAG_LOOKS_COMMA;
  plag_stamp stamp;
  if (plag_stamp_read(cell.text, cell.length, &stamp))
    return PLAG_LOOKS_CLOCK;
  const plag_value point = plag_cell_read(cell.text, cell.length, (plag_notation){'.', ','});
  const plag_value comma = plag_cell_read(cell.text, cell.length, (plag_notation){',', '.'});
  unsigned looks = 0;
  looks |= point.kind == PLAG_CELL_NUMBER ? PLAG_LOOKS_POINT : 0u;
  looks |= comma.kind == PLAG_CELL_NUMBER ? PLAG_LOOKS_COMMA : 0u;
  if (looks != 0) /* "1/min" is a unit, not a one with a unit behind it */
    return plag_unit_find(cell.text, cell.length) != NULL ? PLAG_LOOKS_TEXT : looks;
  if (point.kind == PLAG_CELL_MISSING)
    return PLAG_LOOKS_MISSING;
  return point.kind == PLAG_CELL_STATE ? PLAG_LOOKS_STATE : PLAG_LOOKS_TEXT;
}

bool plag_looks_like_value(unsigned looks, char decimal) {
  const unsigned number = decimal == ',' ? PLAG_LOOKS_COMMA : PLAG_LOOKS_POINT;
  return (looks & (number | PLAG_LOOKS_CLOCK)) != 0;
}

static bool holds_other_separator(plag_cell cell, char separator) {
  for (size_t i = 0; i < cell.length; i++)
    if (cell.text[i] != separator && memchr(separators, cell.text[i], sizeof separators) != NULL)
      return true;
  return false;
}

static width_tally *tally_of(width_tally *tallies, size_t *count, size_t width) {
  for (size_t i = 0; i < *count; i++)
    if (tallies[i].width == width)
      return &tallies[i];
  if (*count == MOST_WIDTHS)
    return NULL;
  tallies[*count] = (width_tally){.width = width};
  return &tallies[(*count)++];
}

static void add_row(width_tally *tally, const plag_row *row, char separator, size_t index) {
  if (tally->rows++ == 0)
    tally->first = index;
  tally->last = index;
  for (size_t i = 0; i < row->count; i++) {
    const unsigned looks = plag_looks_of(row->cell[i]);
    for (size_t k = 0; k < 2; k++) {
      const bool value = plag_looks_like_value(looks, k == 0 ? '.' : ',');
      tally->values_by_decimal[k] += value;
      if (value)
        tally->weight_by_decimal[k] += value_weight;
      else if ((looks & (PLAG_LOOKS_MISSING | PLAG_LOOKS_STATE)) != 0)
        tally->weight_by_decimal[k] += mark_weight;
      else if (!holds_other_separator(row->cell[i], separator))
        tally->weight_by_decimal[k] += text_weight;
    }
  }
}

/* Mean weight of a cell, times how constant the width is from the first to the last row of the
 * table, with a little for more columns. */
static double score_of(const width_tally *tally, size_t decimal) {
  const double cells = (double)tally->rows * (double)tally->width;
  const double constancy = (double)tally->rows / (double)(tally->last - tally->first + 1);
  const double columns = tally->width < 10 ? (double)tally->width : 10;
  return tally->weight_by_decimal[decimal] / cells * (0.3 + 0.7 * constancy) * (1 + 0.02 * columns);
}

static size_t most_values(const width_tally *tally) {
  return tally->values_by_decimal[0] > tally->values_by_decimal[1] ? tally->values_by_decimal[0]
                                                                   : tally->values_by_decimal[1];
}

/* The width with most values is the table's; where nothing is a value, that with most cells. */
static const width_tally *table_of(const width_tally *tallies, size_t count) {
  const width_tally *best = NULL;
  for (size_t i = 0; i < count; i++) {
    const width_tally *tally = &tallies[i];
    if (tally->width < 2)
      continue;
    const size_t values = most_values(tally), best_values = best == NULL ? 0 : most_values(best);
    if (best == NULL || values > best_values ||
        (values == best_values && tally->rows * tally->width > best->rows * best->width))
      best = tally;
  }
  return best;
}

/* Which decimal mark reads more cells. Where both do, a comma in a file with semicolons is a
 * decimal comma likelier than not, else it is the point. */
static size_t better_decimal(const width_tally *tally, char separator, bool commas) {
  const size_t point = tally->values_by_decimal[0], comma = tally->values_by_decimal[1];
  if (point != comma)
    return comma > point;
  return separator == ';' && commas;
}

/* Cells with a quote at one end only: where quotes mean nothing, a cell that was quoted was broken.
 */
static size_t count_broken(const plag_row *row) {
  size_t broken = 0;
  for (size_t i = 0; i < row->count; i++) {
    const plag_cell cell = row->cell[i];
    broken += cell.length > 0 && (cell.text[0] == '"') != (cell.text[cell.length - 1] == '"');
  }
  return broken;
}

static plag_layout_score score_one(plag_splitter splitter, plag_split_cells *cells) {
  width_tally tallies[MOST_WIDTHS];
  size_t count = 0, index = 0, broken = 0;
  plag_row row;
  while (plag_split_next(&splitter, cells, &row)) {
    width_tally *tally = tally_of(tallies, &count, row.count);
    if (tally != NULL)
      add_row(tally, &row, splitter.separator, index);
    broken += splitter.quoting ? 0 : count_broken(&row);
    index++;
  }
  plag_layout_score score = {.separator = splitter.separator, .quoting = splitter.quoting};
  const width_tally *table = table_of(tallies, count);
  if (table == NULL)
    return score;
  const bool commas = memchr(splitter.text, ',', splitter.length) != NULL;
  const bool points = memchr(splitter.text, '.', splitter.length) != NULL;
  const size_t decimal = better_decimal(table, splitter.separator, commas && !points);
  score.decimal = decimal == 1 ? ',' : '.';
  score.even = table->values_by_decimal[0] == table->values_by_decimal[1];
  score.score = score_of(table, decimal) / (1 + (double)broken);
  score.width = table->width;
  score.rows = table->rows;
  return score;
}

plag_layout_score plag_layout_score_all(const char *text, size_t length, char only,
                                        plag_split_cells *cells) {
  plag_layout_score best = {.separator = ',', .quoting = true, .decimal = '.'};
  const bool quotes = memchr(text, '"', length) != NULL;
  for (size_t i = 0; i < sizeof separators; i++) {
    if (only != 0 ? separators[i] != only : memchr(text, separators[i], length) == NULL)
      continue;
    for (int quoting = 1; quoting >= (quotes ? 0 : 1); quoting--) {
      const plag_splitter splitter = {.text = text,
                                      .length = length,
                                      .separator = separators[i],
                                      .quoting = quoting == 1,
                                      .line = 1};
      plag_layout_score score = score_one(splitter, cells);
      const double other = score.separator == best.separator ? best.next_best : best.score;
      if (score.score > best.score) {
        score.next_best = other;
        best = score;
      } else if (score.separator != best.separator && score.score > best.next_best) {
        best.next_best = score.score;
      }
    }
  }
  return best;
}
