/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/collect.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "read/codes.h"
#include "read/roles.h"

static void count_row(plag_row_count *what, const plag_row *row) {
  if (what->count++ == 0)
    what->line = row->line;
}

static bool same_text(plag_cell cell, const char *text) {
  return strlen(text) == cell.length && memcmp(cell.text, text, cell.length) == 0;
}

static platelag_status begin_columns(plag_collector *c, const plag_sample *sample,
                                     const plag_notation *notation, platelag_error *error) {
  const size_t count = c->layout->column_count;
  c->column = calloc(count + 1, sizeof *c->column);
  if (c->column == NULL)
    return plag_error_memory(error, "the columns");
  c->column_count = c->column_capacity = count;
  for (size_t i = 0; i < count; i++) {
    plag_column *column = &c->column[i];
    plag_column_begin(column, &c->layout->column[i], (int)i, notation[i], sample,
                      &c->shape.facts[i]);
    if (c->shape.is_clock[i]) {
      column->match = (plag_name_match){PLATELAG_ROLE_CLOCK, 0, 1, ""};
      (void)snprintf(column->match.reason, sizeof column->match.reason, "the file's clock");
    } else if ((int)i != c->shape.run_column) {
      plag_roles_recognise(column, c->options->spec);
    }
  }
  const platelag_status status =
      plag_roles_settle(c->column, count, c->options->spec, c->file, error);
  for (size_t i = 0; i < count && status == PLATELAG_OK; i++)
    c->column[i].kept = !c->options->keep_none && plag_roles_keep(c->column, count, i, true);
  return status;
}

platelag_status plag_collect_begin(plag_collector *c, const plag_sample *sample,
                                   const plag_notation *notation, platelag_error *error) {
  c->clock = calloc(c->shape.clock_count, sizeof *c->clock);
  c->generation = calloc(c->shape.clock_count, sizeof *c->generation);
  if (c->clock == NULL || c->generation == NULL)
    return plag_error_memory(error, "the clocks");
  for (size_t i = 0; i < c->shape.clock_count; i++)
    c->clock[i].form = c->shape.clock[i];
  if (c->shape.kind != PLAG_SHAPE_LONG)
    return begin_columns(c, sample, notation, error);
  c->notation = notation[c->shape.value_column];
  return PLATELAG_OK;
}

/* A header that comes again: at least half of the cells that are there say what the header says. */
static bool is_header_again(const plag_collector *c, const plag_row *row) {
  size_t present = 0, same = 0, units = 0;
  for (size_t i = 0; i < row->count && i < c->layout->column_count; i++) {
    const plag_column_head *head = &c->layout->column[i];
    if (row->cell[i].length == 0)
      continue;
    present++;
    same += same_text(row->cell[i], head->full_name) || same_text(row->cell[i], head->name);
    units += head->unit[0] != '\0' &&
             memmem(row->cell[i].text, row->cell[i].length, head->unit, strlen(head->unit)) != NULL;
  }
  return present > 0 && (2 * same >= present || (present > 1 && 2 * units > present));
}

/* A header of other columns: at least half of its cells are names that stand elsewhere. */
static bool is_other_header(const plag_collector *c, const plag_row *row) {
  size_t present = 0, known = 0;
  for (size_t i = 0; i < row->count && i < 64; i++) {
    if (row->cell[i].length == 0)
      continue;
    present++;
    for (size_t k = 0; k < c->layout->column_count && k < 64; k++)
      if (same_text(row->cell[i], c->layout->column[k].full_name)) {
        known++;
        break;
      }
  }
  return present >= 2 && 2 * known >= present;
}

/* A row whose clock cannot be read: a header again, a remark or a footer, or a broken stamp. */
static platelag_status leave_out(plag_collector *c, const plag_row *row, bool bad,
                                 platelag_error *error) {
  if (is_header_again(c, row)) {
    count_row(&c->headers, row);
    c->after_header = true;
    return PLATELAG_OK;
  }
  if (is_other_header(c, row))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, row->line, 1,
                          "a second header with its columns in another order; expected one table, "
                          "or the same header again. Split the file there");
  size_t filled = 0, values = 0;
  for (size_t i = 0; i < row->count; i++) {
    const plag_notation plain = {c->layout->decimal, 0};
    const plag_cell_kind kind = plag_cell_read(row->cell[i].text, row->cell[i].length, plain).kind;
    filled += row->cell[i].length > 0;
    values += kind == PLAG_CELL_NUMBER || kind == PLAG_CELL_STATE;
  }
  if (!bad && values > 0) {
    count_row(&c->timeless, row);
  } else if (row->after_blank || filled <= 1 || values == 0 || c->remarks.count > 0) {
    count_row(&c->remarks, row);
  } else {
    c->clock_bad++;
    if (c->clock_bad_line == 0) {
      const plag_cell cell = plag_row_cell(row, c->shape.clock[0].column);
      c->clock_bad_line = row->line;
      (void)snprintf(c->clock_bad_text, sizeof c->clock_bad_text, "%.*s",
                     (int)(cell.length < PLAG_SHOWN_BYTES ? cell.length : PLAG_SHOWN_BYTES - 1),
                     cell.text);
    }
  }
  return PLATELAG_OK;
}

/* The run that the row belongs to; `*anew` where it is another than before. */
static platelag_status take_run(plag_collector *c, const plag_row *row, bool *anew,
                                platelag_error *error) {
  const plag_cell cell = plag_row_cell(row, c->shape.run_column);
  if (c->run_count > 0 && (cell.length == 0 || same_text(cell, c->run[c->current_run])))
    return PLATELAG_OK;
  int found = -1;
  for (size_t i = 0; i < c->run_count; i++)
    if (same_text(cell, c->run[i]))
      found = (int)i;
  if (found < 0) {
    void *grown = (void *)c->run;
    if (c->run_count == PLAG_MOST_RUNS ||
        !plag_array_reserve(&grown, &c->run_capacity, c->run_count + 1, sizeof *c->run))
      return plag_error_set(
          error, PLATELAG_ERROR_INPUT, c->file, row->line, c->shape.run_column + 1,
          "more than %d vehicles or runs in one file; expected fewer", (int)PLAG_MOST_RUNS);
    c->run = grown;
    c->run[c->run_count] = plag_arena_copy_bytes(&c->arena, cell.text, cell.length);
    if (c->run[c->run_count] == NULL)
      return plag_error_memory(error, "the runs");
    found = (int)c->run_count++;
  }
  *anew = c->run_count > 1;
  c->run_changes += *anew;
  c->current_run = found;
  if (c->run_changes > 16 && 4 * c->run_changes > c->rows)
    return plag_error_set(
        error, PLATELAG_ERROR_INPUT, c->file, row->line, c->shape.run_column + 1,
        "rows of several vehicles or runs alternate in column \"%s\"; expected them one after the "
        "other. Sort the file by that column first",
        c->layout->column[c->shape.run_column].full_name);
  return PLATELAG_OK;
}

static bool keep_time(plag_collector *c, int64_t ns) {
  if (c->time_count == c->time_capacity) {
    void *grown = c->time_ns;
    if (!plag_array_reserve(&grown, &c->time_capacity, c->time_count + 1, sizeof *c->time_ns))
      return false;
    c->time_ns = grown;
  }
  c->time_ns[c->time_count++] = ns;
  return true;
}

/* Counts a clock's cell, which is read elsewhere. */
static void take_clock_cell(plag_column *column, plag_cell cell) {
  column->numbers += cell.length > 0;
}

static double take_cell(plag_collector *c, plag_column *column, plag_cell cell, int64_t line) {
  if (column->match.role == PLATELAG_ROLE_STORED_CODE)
    plag_codes_take(c->codes, sizeof c->codes, cell);
  return plag_column_take(column, cell, line);
}

/* A row of channels that share their clock: missing values are kept too. */
static platelag_status take_shared(plag_collector *c, const plag_row *row, int64_t ns,
                                   platelag_error *error) {
  if (!c->options->keep_none && !keep_time(c, ns))
    return plag_error_memory(error, "the samples");
  for (size_t i = 0; i < c->column_count; i++) {
    plag_column *column = &c->column[i];
    if (column->idle)
      continue;
    const plag_cell cell = plag_row_cell(row, (int)i);
    if (c->shape.clock_of[i] < 0) {
      take_clock_cell(column, cell);
      continue;
    }
    double value = take_cell(c, column, cell, row->line);
    if (c->shape.on_change[i]) {
      value = cell.length == 0 ? column->held : value;
      column->held = value;
    }
    plag_refresh_row(&column->refresh, value);
    if (column->kept && !plag_column_push(column, value))
      return plag_error_memory(error, "the samples");
  }
  return PLATELAG_OK;
}

static bool keep_timed(plag_column *column, plag_stamp_use use, int64_t ns, double value) {
  if (use == PLAG_STAMP_TIMES)
    return plag_column_keep(column, ns, value);
  column->waiting = value;
  return true;
}

/* A value without a stamp: told once a row and clock. */
static void miss_stamp(plag_collector *c, const plag_row *row, size_t clock, plag_cell cell,
                       plag_row_stamps *stamps) {
  const plag_notation plain = {c->layout->decimal, 0};
  const plag_cell_kind kind = plag_cell_read(cell.text, cell.length, plain).kind;
  if (stamps->answer[clock] != PLAG_CLOCK_MISSING ||
      (kind != PLAG_CELL_NUMBER && kind != PLAG_CELL_STATE))
    return;
  plag_clock_add(&c->clock[clock].bad, row->line);
  stamps->answer[clock] = PLAG_CLOCK_BAD;
}

/* A row whose channels have times of their own. */
static platelag_status take_timed(plag_collector *c, const plag_row *row, plag_row_stamps *stamps,
                                  platelag_error *error) {
  for (size_t i = 0; i < c->column_count; i++) {
    plag_column *column = &c->column[i];
    if (column->idle)
      continue;
    const plag_cell cell = plag_row_cell(row, (int)i);
    const int clock = c->shape.clock_of[i];
    if (clock < 0) {
      take_clock_cell(column, cell);
    } else if (stamps->use[clock] == PLAG_STAMP_NONE) {
      miss_stamp(c, row, (size_t)clock, cell, stamps);
    } else {
      const double value = take_cell(c, column, cell, row->line);
      if (!keep_timed(column, stamps->use[clock], stamps->ns[clock], value))
        return plag_error_memory(error, "the samples");
    }
  }
  return PLATELAG_OK;
}

static platelag_status take_long(plag_collector *c, const plag_row *row, int64_t ns,
                                 platelag_error *error) {
  const plag_cell name = plag_row_cell(row, c->shape.name_column);
  if (name.length == 0) {
    count_row(&c->timeless, row);
    return PLATELAG_OK;
  }
  const plag_cell unit = plag_row_cell(row, c->shape.unit_column);
  plag_column *column = NULL;
  const platelag_status status = plag_channel_of(c, name, unit, &column, error);
  if (status != PLATELAG_OK)
    return status;
  const plag_cell cell = plag_row_cell(row, c->shape.value_column);
  if (column->match.role == PLATELAG_ROLE_STORED_CODE)
    plag_codes_take(c->codes, sizeof c->codes, cell);
  if (!plag_column_keep(column, ns, plag_column_take_in(column, cell, unit, row->line)))
    return plag_error_memory(error, "the samples");
  return PLATELAG_OK;
}

/* Whether the row holds any value: only asked where no clock tells rows from remarks. */
static bool has_value(const plag_collector *c, const plag_row *row) {
  const plag_notation plain = {c->layout->decimal, 0};
  for (size_t i = 0; i < row->count; i++) {
    const plag_cell_kind kind = plag_cell_read(row->cell[i].text, row->cell[i].length, plain).kind;
    if (kind == PLAG_CELL_NUMBER || kind == PLAG_CELL_STATE)
      return true;
  }
  return false;
}

static int64_t time_of_row(size_t row, int64_t period_ns) {
  const int64_t most = PLAG_CLOCK_MOST_NS / period_ns;
  return row < (size_t)most ? (int64_t)row * period_ns : PLAG_CLOCK_MOST_NS;
}

/* Rows of another width than the header's: cut off, or with cells that cannot be told apart. */
static bool is_broken(plag_collector *c, const plag_row *row) {
  const size_t width = c->layout->column_count;
  if (row->cut && row->count < width) {
    count_row(&c->cut, row);
    return true;
  }
  for (size_t i = width; i < row->count; i++)
    if (row->cell[i].length > 0) {
      if (c->broken.count == 0)
        c->broken_cells = row->count;
      count_row(&c->broken, row);
      return true;
    }
  return false;
}

/* Reads the stamps; how many there are, and whether a cell is none. */
static size_t read_stamps(plag_collector *c, const plag_row *row, plag_row_stamps *stamps,
                          bool *bad) {
  size_t read = 0;
  *bad = false;
  for (size_t i = 0; i < c->shape.clock_count; i++) {
    plag_clock_form *form = &c->clock[i].form;
    if (form->kind == PLAG_CLOCK_ROWS) {
      stamps->answer[i] = has_value(c, row) ? PLAG_CLOCK_READ : PLAG_CLOCK_BAD;
      stamps->ns[i] = time_of_row(c->rows, form->unit_ns);
    } else {
      stamps->answer[i] = plag_clock_read(form, row, &stamps->ns[i]);
    }
    read += stamps->answer[i] == PLAG_CLOCK_READ;
    *bad = *bad || stamps->answer[i] == PLAG_CLOCK_BAD;
  }
  return read;
}

platelag_status plag_collect_row(plag_collector *c, const plag_row *row, platelag_error *error) {
  plag_row_stamps stamps;
  if (c->shape.clock_count > PLAG_MOST_CLOCKS)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, c->file, c->layout->header_line, 0,
                          "%zu clock columns; expected at most %d", c->shape.clock_count,
                          (int)PLAG_MOST_CLOCKS);
  if (is_broken(c, row))
    return PLATELAG_OK;
  bool bad = false;
  if (read_stamps(c, row, &stamps, &bad) == 0)
    return leave_out(c, row, bad, error);
  bool anew = c->after_header && c->clock[0].started && stamps.answer[0] == PLAG_CLOCK_READ &&
              stamps.ns[0] < c->clock[0].last_raw_ns;
  if (anew && c->shape.run_column < 0)
    c->current_run++;
  c->after_header = false;
  platelag_status status = PLATELAG_OK;
  if (c->shape.run_column >= 0)
    status = take_run(c, row, &anew, error);
  if (status == PLATELAG_OK)
    status = plag_collect_stamps(c, row, anew, &stamps, error);
  if (status != PLATELAG_OK)
    return status;
  c->rows++;
  c->group_rows++;
  if (row->count < c->layout->column_count)
    count_row(&c->narrow, row);
  if (c->clock[0].form.quantum_ns == 0 && stamps.use[0] == PLAG_STAMP_TIMES)
    plag_collect_extend(c, stamps.ns[0]);
  if (c->shape.kind == PLAG_SHAPE_LONG)
    return take_long(c, row, stamps.ns[0], error);
  if (c->shape.kind == PLAG_SHAPE_ONE_CLOCK)
    return take_shared(c, row, stamps.ns[0], error);
  return take_timed(c, row, &stamps, error);
}

void plag_collect_rest_idle(plag_collector *c) {
  bool any = false;
  for (size_t i = 0; i < c->column_count; i++)
    any = any || c->column[i].kept;
  for (size_t i = 0; i < c->column_count && any && c->shape.kind != PLAG_SHAPE_LONG; i++)
    c->column[i].idle = !c->column[i].kept && c->column[i].match.role == PLATELAG_ROLE_NONE;
}

void plag_collect_clear(plag_collector *c) {
  for (size_t i = 0; i < c->column_count; i++)
    plag_column_drop(&c->column[i]);
  free(c->column);
  plag_channel_index_destroy(c->index);
  free(c->clock);
  free(c->generation);
  free(c->time_ns);
  free(c->segment);
  free((void *)c->run);
  plag_arena_clear(&c->arena);
}
