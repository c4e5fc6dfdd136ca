/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/shape_columns.h"

#include <math.h>
#include <string.h>

#include "read/names.h"

static bool same(plag_cell one, plag_cell other) {
  return one.length == other.length && memcmp(one.text, other.text, one.length) == 0;
}

static bool is_channel_name(plag_cell cell) {
  char name[128];
  if (cell.length == 0 || cell.length >= sizeof name)
    return false;
  memcpy(name, cell.text, cell.length);
  name[cell.length] = '\0';
  return plag_name_recognise(name, "", PLATELAG_UNIT_UNKNOWN).score >= 0.4;
}

typedef struct word_set {
  plag_cell word[PLAG_MOST_DISTINCT];
} word_set;

static void take_word(plag_column_facts *facts, word_set *set, plag_cell cell) {
  facts->words++;
  facts->beyond += plag_cell_is_beyond(cell.text, cell.length);
  for (size_t i = 0; i < facts->distinct; i++)
    if (same(set->word[i], cell))
      return;
  if (facts->distinct == PLAG_MOST_DISTINCT)
    return;
  set->word[facts->distinct++] = cell;
  facts->role = facts->role || is_channel_name(cell);
}

static void take_distance(plag_column_facts *facts, size_t rows) {
  facts->nearest = facts->nearest == 0 || rows < facts->nearest ? rows : facts->nearest;
  facts->farthest = rows > facts->farthest ? rows : facts->farthest;
}

static bool is_whole(double number) {
  return fabs(number) >= 0x1p53 || number == (double)(int64_t)number;
}

void plag_column_facts_find(const plag_sample *sample, int column, plag_notation notation,
                            plag_column_facts *out) {
  *out = (plag_column_facts){.lowest = INFINITY, .highest = -INFINITY};
  word_set set = {{{"", 0}}};
  plag_cell above = {"", 0};
  plag_cell last = {"", 0}; /* present */
  size_t last_row = 0;
  plag_value value = {PLAG_CELL_MISSING, NAN, NULL};
  for (size_t i = 0; i < sample->count; i++) {
    const plag_cell cell = plag_row_cell(&sample->row[i], column);
    const bool as_above = i > 0 && same(cell, above);
    out->changes += i > 0 && !as_above;
    above = cell;
    if (!as_above)
      value = plag_cell_read(cell.text, cell.length, notation);
    if (i == 0)
      out->first_full = value.kind != PLAG_CELL_MISSING;
    out->empty += cell.length == 0;
    if (value.kind == PLAG_CELL_MISSING) {
      out->missing++;
      continue;
    }
    out->repeats += last.length > 0 && (last_row + 1 == i ? as_above : same(last, cell));
    if (last.length > 0)
      take_distance(out, i - last_row);
    last = cell;
    last_row = i;
    if (value.kind == PLAG_CELL_NUMBER) {
      out->numbers++;
      out->whole += is_whole(value.number);
      out->lowest = value.number < out->lowest ? value.number : out->lowest;
      out->highest = value.number > out->highest ? value.number : out->highest;
    } else if (value.kind == PLAG_CELL_STATE) {
      out->states++;
    } else {
      take_word(out, &set, cell);
    }
  }
}
