/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The end of collecting: what can only be said once all rows were seen. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "core/text.h"
#include "read/collect.h"
#include "read/roles.h"

static platelag_status refuse(const plag_collector *c, int64_t line, const char *message,
                              platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, line, 0, "%s", message);
}

/* More than 2 % of what was looked at, and more than one odd case. */
static bool is_too_much(size_t bad, size_t all) {
  return bad > 1 && 50 * bad > all;
}

static platelag_status check_rows(const plag_collector *c, platelag_error *error) {
  const int64_t line = c->layout->data_line;
  if (is_too_much(c->broken.count, c->rows + c->broken.count))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, c->broken.line,
                          (int64_t)c->layout->column_count + 1,
                          "%zu cells where the header names %zu columns (%zu such rows); expected "
                          "as many cells as columns. A decimal comma without quotes does this",
                          c->broken_cells, c->layout->column_count, c->broken.count);
  if (is_too_much(c->clock_bad, c->rows + c->clock_bad))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, c->clock_bad_line,
                          c->shape.clock[0].column + 1,
                          "the clock reads \"%s\" (%zu such cells); expected a stamp like those "
                          "above, %s",
                          c->clock_bad_text, c->clock_bad, c->shape.clock[0].name);
  if (c->rows == 0)
    return refuse(c, line, "no data row; expected a header and rows of samples", error);
  if (c->rows == 1)
    return refuse(c, line, "one data row only; expected at least two, to tell times apart", error);
  const plag_clock *clock = &c->clock[0];
  if (clock->restart.count > 5 && 10 * clock->restart.count > c->rows)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, clock->restart.line,
                          clock->form.column + 1,
                          "the clock steps back %zu times in %zu rows; expected the rows in order "
                          "of time",
                          clock->restart.count, c->rows);
  bool moves = false;
  for (size_t i = 0; i < c->shape.clock_count; i++)
    moves = moves || c->clock[i].last_ns != 0 || c->clock[i].form.quantum_ns > 0;
  if (!moves)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, line, clock->form.column + 1,
                          "the clock never moves; expected one that rises");
  return PLATELAG_OK;
}

/* Whether another column could serve in place of this one. */
static bool has_better(const plag_collector *c, size_t which) {
  const plag_name_match *self = &c->column[which].match;
  for (size_t i = 0; i < c->column_count; i++) {
    const plag_column *other = &c->column[i];
    const size_t present = other->numbers + other->states;
    if (i != which && other->match.role == self->role &&
        (other->match.bank == self->bank || self->bank == 0) && present > 0 &&
        !is_too_much(other->words, present + other->words))
      return true;
  }
  return false;
}

/* A column that the judgement stands on and that does not read. */
static platelag_status check_needed(plag_collector *c, size_t which, platelag_error *error) {
  plag_column *column = &c->column[which];
  const size_t present = column->numbers + column->states;
  const bool bad =
      is_too_much(column->words, present + column->words) || (column->words > 0 && present == 0);
  if (!bad || !plag_role_is_needed(column->match.role))
    return PLATELAG_OK;
  if ((column->named || (column->match.score >= 0.6 && !has_better(c, which))) &&
      !c->options->keep_none)
    return plag_error_set(
        error, PLATELAG_ERROR_INPUT, c->file, column->bad_line, column->index + 1,
        "\"%s\" in the column \"%s\", and %zu of its %zu cells are no value; expected a number, "
        "a state like on or off, or a mark for a missing value",
        column->bad_text, column->head.full_name, column->words, present + column->words);
  (void)plag_note_list_add(c->notes, column->bad_line, column->index + 1,
                           "column \"%s\" is not used as %s: %zu of its cells are no value",
                           column->head.full_name, platelag_role_name(column->match.role),
                           column->words);
  column->match = (plag_name_match){PLATELAG_ROLE_NONE, 0, 0, ""};
  plag_column_drop(column);
  return PLATELAG_OK;
}

static platelag_status end_columns(plag_collector *c, platelag_error *error) {
  size_t present = 0;
  if (c->shape.kind == PLAG_SHAPE_LONG) {
    const platelag_status status =
        plag_roles_settle(c->column, c->column_count, c->options->spec, c->file, error);
    if (status != PLATELAG_OK)
      return status;
  }
  for (size_t i = 0; i < c->column_count; i++) {
    plag_column *column = &c->column[i];
    plag_column_end(column, column->kept ? column->count : 0, c->notes);
    const platelag_status status = check_needed(c, i, error);
    if (status != PLATELAG_OK)
      return status;
    const bool values = column->numbers + column->states > 0;
    if (column->kept && (!values || column->match.role == PLATELAG_ROLE_NONE ||
                         plag_column_kind(column) == PLATELAG_VALUE_WORDS))
      plag_column_drop(column);
    if (column->match.role != PLATELAG_ROLE_CLOCK)
      present += column->numbers + column->states;
  }
  if (present == 0)
    return refuse(c, c->layout->data_line,
                  "no column holds a single value; expected samples beside the clock", error);
  return PLATELAG_OK;
}

/* Channels that the judgement stands on, each with a clock of its own: their clocks read, and none
 * begins anew without the others, which would shift it against them. */
static platelag_status check_clocks(const plag_collector *c, platelag_error *error) {
  const plag_column *first = NULL;
  const plag_clock *of_first = NULL;
  if (c->shape.clock_count == 1 || c->options->keep_none)
    return PLATELAG_OK;
  for (size_t i = 0; i < c->column_count; i++) {
    const plag_column *column = &c->column[i];
    if (c->shape.clock_of[i] < 0 || !column->kept || !plag_role_is_needed(column->match.role))
      continue;
    const plag_clock *clock = &c->clock[c->shape.clock_of[i]];
    if (is_too_much(clock->bad.count, c->rows))
      return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, clock->bad.line,
                            clock->form.column + 1,
                            "%zu cells of the clock of \"%s\" are no stamps; expected some like "
                            "those above, %s",
                            clock->bad.count, column->head.full_name, clock->form.name);
    if (first != NULL && clock->falls != of_first->falls)
      return plag_error_set(
          error, PLATELAG_ERROR_INPUT, c->file,
          clock->falls > of_first->falls ? clock->restart.line : of_first->restart.line, 0,
          "the clock of \"%s\" begins anew %zu times, that of \"%s\" %zu times; "
          "expected both together, or they cannot be lined up. Split the file "
          "there",
          first->head.full_name, of_first->falls, column->head.full_name, clock->falls);
    if (first == NULL) {
      first = column;
      of_first = clock;
    }
  }
  return PLATELAG_OK;
}

/* The clocks of several channels tell the same of the same rows. */
static bool is_told(const plag_note_list *notes, const plag_row_count *what, const char *text) {
  for (size_t i = 0; i < notes->count; i++)
    if (notes->note[i].line == what->line && notes->note[i].count == what->count &&
        strcmp(notes->note[i].text, text) == 0)
      return true;
  return false;
}

static void note_rows(const plag_collector *c, const plag_row_count *what, const char *text) {
  if (what->count == 0 || is_told(c->notes, what, text))
    return;
  const size_t note = plag_note_list_add(c->notes, what->line, 0, "%s", text);
  plag_note_list_set_count(c->notes, note, what->count);
}

static void note_clock(const plag_collector *c, size_t which) {
  const plag_clock *clock = &c->clock[which];
  const struct {
    const plag_clock_count *what;
    const char *text;
  } notes[] = {
      {&clock->midnight, "the clock wraps here, as past midnight; time goes on"},
      {&clock->set_back, "the clock is set back by an hour, as at the end of summer time; time "
                         "goes on"},
      {&clock->jitter, "a stamp earlier than the one before it by little; taken as the same time"},
      {&clock->restart, "the clock begins anew; a new segment begins"},
      {&clock->gap, "the recorder paused; a new segment begins"},
      {&clock->bad, "a channel's own clock shows no stamp here; the channel's value is left out"},
      {&clock->stray, "a stamp far off by itself, of one clock among several; what it stamps is "
                      "left out"},
      {&clock->repeated, "a stamp is that of the row before; both rows are kept at one time"},
  };
  if (c->shape.kind == PLAG_SHAPE_LONG && clock->repeated.count > 0) {
    for (size_t i = 0; i + 1 < sizeof notes / sizeof notes[0]; i++)
      note_rows(c, notes[i].what, notes[i].text);
    return;
  }
  for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++)
    note_rows(c, notes[i].what, notes[i].text);
}

static void note_column(const plag_collector *c, const plag_column *column) {
  if (column->words > 0 && plag_column_kind(column) != PLATELAG_VALUE_WORDS) {
    const size_t note =
        plag_note_list_add(c->notes, column->bad_line, column->index + 1,
                           "column \"%s\": \"%s\" is no value; such cells count as missing",
                           column->head.full_name, column->bad_text);
    plag_note_list_set_count(c->notes, note, column->words);
  }
  if (column->state_among_numbers > 0) {
    const size_t note = plag_note_list_add(
        c->notes, column->state_line, column->index + 1,
        "column \"%s\": words like on and off among numbers are read as 100 and 0",
        column->head.full_name);
    plag_note_list_set_count(c->notes, note, column->state_among_numbers);
  }
}

static void note_all(const plag_collector *c) {
  note_rows(c, &c->headers, "the header stands here again; left out");
  note_rows(c, &c->remarks, "a remark, footer or summary, no row of samples; left out");
  note_rows(c, &c->timeless, "a row without a stamp or a channel's name; left out");
  note_rows(c, &c->broken, "more cells than columns, so that none can be told apart; left out");
  note_rows(c, &c->cut, "the file ends inside this row; left out");
  note_rows(c, &c->narrow, "fewer cells than columns; those that are not there count as missing");
  const plag_clock_count bad = {c->clock_bad, c->clock_bad_line};
  note_rows(c, &bad, "the clock's cell is no stamp; the row is left out");
  for (size_t i = 0; i < c->shape.clock_count; i++)
    note_clock(c, i);
  for (size_t i = 0; i < c->column_count; i++)
    note_column(c, &c->column[i]);
}

/* A clock may begin before the one that was seen first; the earliest sample is time 0. */
static void shift_times(plag_collector *c) {
  const int64_t by = c->earliest_ns;
  if (by == 0)
    return;
  for (size_t i = 0; i < c->time_count; i++)
    c->time_ns[i] -= by;
  for (size_t k = 0; k < c->column_count; k++)
    for (size_t i = 0; c->column[k].time_ns != NULL && i < c->column[k].count; i++)
      c->column[k].time_ns[i] -= by;
  for (size_t i = 0; i < c->segment_count; i++) {
    c->segment[i].from_ns -= by;
    c->segment[i].to_ns -= by;
  }
}

/* The first row may have been put behind its stamp by spreading; time begins with it, or with a
 * sample of a channel that has times of its own. */
static void find_earliest(plag_collector *c) {
  if (c->clock[0].form.quantum_ns == 0 || c->segment_count == 0)
    return;
  int64_t *from_ns = &c->segment[0].from_ns;
  for (size_t k = 0; k < c->column_count; k++) {
    const plag_column *column = &c->column[k];
    if (column->time_ns != NULL && column->count > 0 && column->time_ns[0] < *from_ns)
      *from_ns = column->time_ns[0];
  }
  c->earliest_ns = *from_ns;
}

/* Where one of several clocks begins anew alone, the others run behind the segment that it began:
 * segments follow each other all the same, and none ends before it begins. */
static void order_segments(plag_collector *c) {
  for (size_t i = 0; i < c->segment_count; i++) {
    platelag_segment *segment = &c->segment[i];
    if (i > 0 && segment->from_ns < segment[-1].to_ns)
      segment->from_ns = segment[-1].to_ns;
    if (segment->to_ns < segment->from_ns)
      segment->to_ns = segment->from_ns;
  }
}

platelag_status plag_collect_end(plag_collector *c, platelag_error *error) {
  platelag_status status = plag_collect_waiting(c, error);
  plag_collect_close(c);
  if (status == PLATELAG_OK)
    status = check_rows(c, error);
  if (status == PLATELAG_OK)
    status = check_clocks(c, error);
  if (status == PLATELAG_OK)
    status = end_columns(c, error);
  if (status != PLATELAG_OK)
    return status;
  find_earliest(c);
  order_segments(c);
  shift_times(c);
  note_all(c);
  return c->notes->failed ? plag_error_memory(error, "the notes") : PLATELAG_OK;
}
