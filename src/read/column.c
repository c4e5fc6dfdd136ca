/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/column.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/number.h"

/* Numbers that some recorders write for "no value". They count as missing only in a column where
 * no other value comes near. */
static const double sentinels[] = {9999,  -9999,  99999, -99999,     999999,
                                   65535, -32768, 32767, 4294967295, -999999};

static const plag_unit_entry *unit_in_cells(const plag_sample *sample, int index,
                                            plag_notation notation) {
  for (size_t i = 0; i < sample->count; i++) {
    const plag_cell cell = plag_row_cell(&sample->row[i], index);
    const plag_value value = plag_cell_read(cell.text, cell.length, notation);
    if (value.kind == PLAG_CELL_NUMBER && value.unit != NULL)
      return value.unit;
  }
  return NULL;
}

void plag_column_begin(plag_column *column, const plag_column_head *head, int index,
                       plag_notation notation, const plag_sample *sample,
                       const plag_column_facts *facts) {
  *column = (plag_column){.head = *head,
                          .index = index,
                          .notation = notation,
                          .scale = 1,
                          .unit_text = head->unit,
                          .held = NAN,
                          .last_ns = INT64_MIN,
                          .waiting = NAN,
                          .lowest = NAN,
                          .highest = NAN};
  const plag_unit_entry *unit = plag_unit_find(head->unit, strlen(head->unit));
  if (unit == NULL && head->unit[0] == '\0' && sample != NULL) {
    unit = unit_in_cells(sample, index, notation);
    column->unit_text = unit != NULL ? unit->text : "";
  } else if (unit != NULL) {
    column->scale = unit->scale;
  }
  if (unit != NULL)
    column->unit = unit->unit;
  else if (head->unit[0] != '\0')
    column->unit = PLATELAG_UNIT_OTHER;
  column->sampled_words =
      facts != NULL && facts->words - facts->beyond > facts->numbers + facts->states;
}

static double take_bad(plag_column *column, plag_cell cell, int64_t line) {
  column->words++;
  if (column->bad_line == 0) {
    column->bad_line = line;
    (void)snprintf(column->bad_text, sizeof column->bad_text, "%.*s",
                   (int)(cell.length < PLAG_SHOWN_BYTES ? cell.length : PLAG_SHOWN_BYTES - 1),
                   cell.text);
  }
  return NAN;
}

/* A state word. Among the numbers of a duty it is its end, 0 or 100 %; among volts it is no value.
 */
static double take_state(plag_column *column, plag_cell cell, int64_t line, double state) {
  if (column->numbers == 0) {
    column->states++;
    return state;
  }
  const bool commands =
      column->match.role == PLATELAG_ROLE_COMMAND || column->match.role == PLATELAG_ROLE_DESIRED;
  if (column->unit != PLATELAG_UNIT_PERCENT && !(column->unit == PLATELAG_UNIT_UNKNOWN && commands))
    return take_bad(column, cell, line);
  if (column->state_among_numbers++ == 0)
    column->state_line = line;
  column->states++;
  return state * 100;
}

/* Whether the number may stand for "no value"; counted apart if so. */
static bool take_sentinel(plag_column *column, double value, int64_t line) {
  if (column->sentinel_count > 0 && column->sentinel != value)
    return false;
  for (size_t i = 0; i < sizeof sentinels / sizeof sentinels[0]; i++) {
    if (sentinels[i] != value)
      continue;
    column->sentinel = value;
    if (column->sentinel_count++ == 0)
      column->sentinel_line = line;
    return true;
  }
  return false;
}

static double take_number(plag_column *column, double number, int64_t line) {
  column->numbers++;
  if (fabs(number) >= PLAG_LEAST_SENTINEL && take_sentinel(column, number, line))
    return number;
  plag_column_widen(column, number);
  return number;
}

/* A cell in whatever notation, its number scaled. */
static plag_value read_any(plag_column *column, plag_cell cell) {
  if (cell.length == column->cached_length && cell.length > 0 &&
      memcmp(cell.text, column->cached, cell.length) == 0)
    return column->cached_value;
  plag_value value = plag_cell_read(cell.text, cell.length, column->notation);
  if (value.kind == PLAG_CELL_NUMBER)
    value.number *= value.unit != NULL ? value.unit->scale : column->scale;
  if (cell.length > 0 && cell.length <= PLAG_CACHED_BYTES) {
    memcpy(column->cached, cell.text, cell.length);
    column->cached_length = cell.length;
    column->cached_value = value;
  }
  return value;
}

double plag_column_take_any(plag_column *column, plag_cell cell, int64_t line) {
  plag_value value = read_any(column, cell);
  switch (value.kind) {
  case PLAG_CELL_MISSING:
    column->missing++;
    return NAN;
  case PLAG_CELL_OTHER:
    return take_bad(column, cell, line);
  case PLAG_CELL_STATE:
    value.number = take_state(column, cell, line, value.number);
    if (!isnan(value.number))
      plag_column_widen(column, value.number);
    return value.number;
  case PLAG_CELL_NUMBER:
    break;
  }
  return take_number(column, value.number, line);
}

double plag_column_take_in(plag_column *column, plag_cell cell, plag_cell unit_cell, int64_t line) {
  if (unit_cell.length == 0 || (strlen(column->unit_text) == unit_cell.length &&
                                memcmp(column->unit_text, unit_cell.text, unit_cell.length) == 0))
    return plag_column_take(column, cell, line);
  const plag_unit_entry *unit = plag_unit_find(unit_cell.text, unit_cell.length);
  const plag_unit_entry *usual = plag_unit_find(column->unit_text, strlen(column->unit_text));
  const bool same = unit != NULL && usual != NULL && unit->unit == usual->unit &&
                    (unit->unit != PLATELAG_UNIT_OTHER || unit == usual);
  if (!same)
    return take_bad(column, unit_cell, line);
  const double scale = column->scale;
  column->scale = unit->scale;
  column->cached_length = 0; /* what was read in another unit is no answer */
  const double value = plag_column_take(column, cell, line);
  column->scale = scale;
  column->cached_length = 0;
  return value;
}

bool plag_column_grow(plag_column *column) {
  void *grown = column->value;
  if (!plag_array_reserve(&grown, &column->capacity, column->count + 1, sizeof *column->value))
    return false;
  column->value = grown;
  return true;
}

bool plag_column_push_timed(plag_column *column, int64_t time_ns, double value) {
  if (column->count == column->time_capacity) {
    void *grown = column->time_ns;
    if (!plag_array_reserve(&grown, &column->time_capacity, column->count + 1,
                            sizeof *column->time_ns))
      return false;
    column->time_ns = grown;
  }
  column->time_ns[column->count] = time_ns;
  return plag_column_push(column, value);
}

bool plag_column_keep(plag_column *column, int64_t ns, double value) {
  if (isnan(value))
    return true;
  if (column->last_ns != INT64_MIN)
    plag_refresh_step(&column->refresh, (double)(ns - column->last_ns) * 1e-9);
  column->last_ns = ns;
  return !column->kept || plag_column_push_timed(column, ns, value);
}

/* Far beyond everything else in the column: it can be no reading. */
static bool is_implausible(const plag_column *column) {
  double largest = 100;
  if (column->numbers > column->sentinel_count)
    largest = fmax(largest, fmax(fabs(column->lowest), fabs(column->highest)));
  return fabs(column->sentinel) > 8 * largest;
}

void plag_column_end(plag_column *column, size_t count, plag_note_list *notes) {
  if (column->sentinel_count == 0)
    return;
  char text[PLAG_NUMBER_TEXT_BYTES];
  if (!is_implausible(column)) {
    if (!(column->sentinel >= column->lowest))
      column->lowest = column->sentinel;
    if (!(column->sentinel <= column->highest))
      column->highest = column->sentinel;
    return;
  }
  column->sentinel_missing = true;
  column->numbers -= column->sentinel_count;
  column->missing += column->sentinel_count;
  for (size_t i = 0; column->value != NULL && i < count; i++)
    if (column->value[i] == column->sentinel)
      column->value[i] = NAN;
  const size_t note = plag_note_list_add(
      notes, column->sentinel_line, column->index + 1,
      "column \"%s\": %s stands for \"no value\", since no other reading comes near it; read as "
      "missing",
      column->head.full_name, plag_number_format(column->sentinel, 0, text));
  plag_note_list_set_count(notes, note, column->sentinel_count);
}

platelag_value_kind plag_column_kind(const plag_column *column) {
  if (column->words > column->numbers + column->states)
    return PLATELAG_VALUE_WORDS;
  if (column->numbers > 0)
    return PLATELAG_VALUE_NUMBER;
  return column->states > 0 ? PLATELAG_VALUE_STATE : PLATELAG_VALUE_EMPTY;
}

void plag_column_drop(plag_column *column) {
  free(column->value);
  free(column->time_ns);
  column->value = NULL;
  column->time_ns = NULL;
  column->count = 0;
  column->capacity = 0;
  column->time_capacity = 0;
  column->kept = false;
}
