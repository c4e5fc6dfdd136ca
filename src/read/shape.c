/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/shape.h"

#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/number.h"
#include "read/names.h"
#include "read/shape_columns.h"

static const char *const name_words[] = {
    "^channel",  "^signal", "^name",       "^parameter",   "=pid",   "=sensor",    "^item",
    "^variable", "^kanal",  "=messgrosse", "=bezeichnung", "=canal", "=parametre", "=nom",
    "^senal",    "^nombre", "=source",     "=what",        NULL};

enum { MOST_MIXED_RUNS = 16, SLOWEST_POLL_ROWS = 64 };

/* What the steps below share. */
typedef struct shape_work {
  const plag_sample *sample;
  const plag_layout *layout;
  const char *file;
  plag_column_facts *facts; /* a column */
  plag_clock_form *form;    /* a column */
  int best;                 /* the best clock; -1: none */
} shape_work;

const char *plag_shape_name(plag_shape_kind kind) {
  static const char *const names[] = {"one clock", "clock per channel", "long", "sparse rows"};
  return names[kind];
}

static bool has_data(const shape_work *work, size_t column) {
  const plag_column_facts *facts = &work->facts[column];
  return work->form[column].score == 0 && facts->numbers + facts->states > 0 &&
         !work->form[column].is_date;
}

static bool look_at_columns(shape_work *work, const plag_notation *notation) {
  work->best = -1;
  for (size_t i = 0; i < work->layout->column_count; i++) {
    plag_column_facts_find(work->sample, (int)i, notation[i], &work->facts[i]);
    if (!plag_clock_find(work->sample, work->layout, (int)i, notation[i], &work->facts[i],
                         &work->form[i]))
      return false;
    if (work->form[i].score > 0 &&
        (work->best < 0 || work->form[i].score > work->form[work->best].score))
      work->best = (int)i;
  }
  return true;
}

/* The column of dates beside the clock, if the clock names no day itself. */
static bool join_date(shape_work *work) {
  plag_clock_form *form = &work->form[work->best];
  if (form->kind != PLAG_CLOCK_STAMP || form->dated)
    return true;
  for (int i = form->column - 1; i <= form->column + 1; i++)
    if (i >= 0 && i != form->column && (size_t)i < work->layout->column_count &&
        work->form[i].is_date)
      return plag_clock_add_date(work->sample, i, form);
  return true;
}

/* A clock column for each channel: two or more of them, each with data behind it, with data between
 * them. */
static size_t count_clocks(const shape_work *work) {
  size_t count = 0;
  bool data_since = false;
  int last = -1;
  for (size_t i = 0; i < work->layout->column_count; i++) {
    if (work->form[i].score > 0.6) {
      if (last >= 0 && !data_since)
        return 0;
      last = (int)i;
      data_since = false;
      count++;
    } else if (has_data(work, i)) {
      if (last < 0)
        return 0; /* data before the first clock belong to none */
      data_since = true;
    }
  }
  return count >= 2 && data_since ? count : 0;
}

/* Long form: one column of names that come again and again, one of values. */
static bool find_long(const shape_work *work, plag_shape *out) {
  const size_t rows = work->sample->count;
  int name = -1, value = -1, unit = -1;
  size_t values = 0;
  if (work->layout->column_count > 8)
    return false;
  for (size_t i = 0; i < work->layout->column_count; i++) {
    const plag_column_facts *facts = &work->facts[i];
    const char *full = work->layout->column[i].full_name;
    if (work->form[i].score > 0 || work->form[i].is_date ||
        plag_name_has_word(full, plag_count_words))
      continue;
    if (facts->words * 10 >= rows * 9 && facts->distinct < PLAG_MOST_DISTINCT &&
        2 * facts->distinct <= rows && name < 0 && facts->changes * 4 > rows &&
        (plag_name_has_word(full, name_words) || facts->role)) {
      name = (int)i;
    } else if (facts->numbers + facts->states > 0 && !plag_name_has_word(full, plag_run_words)) {
      value = (int)i;
      values++;
    } else if (facts->words > 0 && facts->distinct < PLAG_MOST_DISTINCT) {
      unit = (int)i;
    }
  }
  if (name < 0 || values != 1)
    return false;
  out->name_column = name;
  out->value_column = value;
  out->unit_column = unit;
  return true;
}

/* `column` -1: all of them. */
static void note_on_change(const shape_work *work, int column, plag_note_list *notes) {
  const bool one = column >= 0;
  (void)plag_note_list_add(notes, work->sample->row[0].line, column + 1,
                           "empty cells%s%s%s are read as \"unchanged\": the first row is full and "
                           "hardly a value is repeated, as recorders write that store changes only",
                           one ? " of column \"" : "",
                           one ? work->layout->column[column].full_name : "", one ? "\"" : "");
}

/* A column that is filled now and then beside others that always are: polled at a slower rate, it
 * would be filled at even distances, but for a lost reading, and repeat its value sooner or later.
 * A recorder of changes may write a value again after a loss. */
static bool changes_alone(const plag_column_facts *facts, size_t rows) {
  const size_t filled = rows - facts->empty;
  const bool uneven = facts->farthest >= 2 * facts->nearest || facts->farthest > SLOWEST_POLL_ROWS;
  const bool very_uneven = facts->farthest >= 8 * facts->nearest;
  return facts->first_full && facts->farthest > 0 && 2 * facts->empty >= rows &&
         ((uneven && 20 * facts->repeats <= filled) ||
          (very_uneven && 4 * facts->repeats <= filled));
}

static bool is_dense(const plag_column_facts *facts, size_t rows) {
  return 20 * facts->empty < rows;
}

/* Whether some column is filled in all rows: then no row is that of one channel. */
static bool has_dense(const shape_work *work, const plag_shape *out) {
  bool dense = false;
  for (size_t i = 0; i < work->layout->column_count; i++)
    dense = dense || (out->clock_of[i] >= 0 && has_data(work, i) &&
                      is_dense(&work->facts[i], work->sample->count));
  return dense;
}

/* Columns that hold changes only, in a file whose other columns are full. */
static void find_changes_alone(const shape_work *work, plag_shape *out, plag_note_list *notes) {
  for (size_t i = 0; i < work->layout->column_count; i++) {
    if (out->clock_of[i] < 0 || !has_data(work, i) ||
        !changes_alone(&work->facts[i], work->sample->count))
      continue;
    out->on_change[i] = true;
    note_on_change(work, (int)i, notes);
  }
}

/* Sparse rows and recording on change look alike, but for this: recorded on change, the first row
 * is full and no value ever comes twice in a row. */
static void find_sparse(const shape_work *work, plag_shape *out, plag_note_list *notes) {
  size_t columns = 0, filled = 0, empty = 0, repeats = 0, full = 0;
  for (size_t i = 0; i < work->layout->column_count; i++) {
    if (out->clock_of[i] < 0 || !has_data(work, i))
      continue;
    const plag_column_facts *facts = &work->facts[i];
    columns++;
    empty += facts->empty;
    filled += work->sample->count - facts->empty;
    repeats += facts->repeats;
    full += facts->first_full;
  }
  if (columns == 0 || 20 * empty < filled + empty)
    return;
  if (full == columns && repeats == 0 && filled >= columns + 20) {
    for (size_t i = 0; i < work->layout->column_count; i++)
      out->on_change[i] = true;
    note_on_change(work, -1, notes);
  } else if (columns >= 2 && 10 * filled <= 6 * (filled + empty)) {
    out->kind = PLAG_SHAPE_SPARSE;
  }
}

static void find_gaps(const shape_work *work, plag_shape *out, plag_note_list *notes) {
  if (has_dense(work, out))
    find_changes_alone(work, out, notes);
  else
    find_sparse(work, out, notes);
}

/* A column that tells vehicles or runs apart: named so, and its cells stay the same for long. */
static int find_run(const shape_work *work, const plag_shape *out) {
  for (size_t i = 0; i < work->layout->column_count; i++) {
    const plag_column_facts *facts = &work->facts[i];
    const plag_column_head *head = &work->layout->column[i];
    const size_t present = facts->numbers + facts->words + facts->states;
    if (out->is_clock[i] || (int)i == out->name_column || (int)i == out->value_column ||
        (int)i == out->unit_column || !plag_name_has_word(head->full_name, plag_run_words))
      continue;
    if (plag_name_recognise(head->name, head->unit, PLATELAG_UNIT_UNKNOWN).score > 0 ||
        head->unit[0] != '\0' || facts->whole != facts->numbers)
      continue;
    if (present * 10 >= work->sample->count * 9 && facts->changes * 4 <= work->sample->count)
      return (int)i;
  }
  return -1;
}

/* A column named like one that tells runs apart, but whose words come in turn: read as one
 * recording it would mix them. */
static platelag_status refuse_mixed_runs(const shape_work *work, const plag_shape *out,
                                         platelag_error *error) {
  for (size_t i = 0; i < work->layout->column_count; i++) {
    const plag_column_facts *facts = &work->facts[i];
    const char *name = work->layout->column[i].full_name;
    if (out->is_clock[i] || (int)i == out->name_column || (int)i == out->unit_column ||
        !plag_name_has_word(name, plag_run_words) ||
        plag_name_recognise(name, "", PLATELAG_UNIT_UNKNOWN).score > 0)
      continue;
    if (facts->words * 10 >= work->sample->count * 9 && facts->distinct > 1 &&
        facts->distinct <= MOST_MIXED_RUNS && facts->changes * 4 > work->sample->count)
      return plag_error_set(
          error, PLATELAG_ERROR_INPUT, work->file, work->sample->row[0].line, (int64_t)i + 1,
          "rows of several vehicles or runs alternate in column \"%s\"; expected them one after "
          "the other. Sort the file by that column first",
          name);
  }
  return PLATELAG_OK;
}

static const char rate_key[] = "rows_per_second";

static platelag_status refuse_clock(const shape_work *work, platelag_error *error) {
  for (size_t i = 0; i < work->layout->column_count; i++) {
    const plag_clock_form *form = &work->form[i];
    const plag_column_head *head = &work->layout->column[i];
    const bool named =
        plag_name_has_word(head->full_name, plag_clock_words) || form->kind == PLAG_CLOCK_STAMP;
    if (form->share < 0.9 || !named || (form->period_ns > 0 && form->falling <= 0.5))
      continue;
    if (form->falling > 0.5)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, work->file, work->sample->row[0].line,
                            (int64_t)i + 1,
                            "the clock \"%s\" runs backward from row to row; expected the rows in "
                            "order of time",
                            head->full_name);
    return plag_error_set_with(error, rate_key, work->file, work->sample->row[0].line,
                               (int64_t)i + 1,
                               "the clock \"%s\" never moves; expected one that rises, or a file "
                               "without it and the rows per second given",
                               head->full_name);
  }
  return plag_error_set_with(
      error, rate_key, work->file, work->layout->header_line, 0,
      "no clock found among the %zu columns; expected a column of seconds, milliseconds, times or "
      "dates with times. If each row is one sample at a fixed rate, give the rows per second",
      work->layout->column_count);
}

static platelag_status set_row_clock(const shape_work *work, double rows_per_second,
                                     plag_shape *out, plag_note_list *notes,
                                     platelag_error *error) {
  if (!(rows_per_second > 1e-6 && rows_per_second < 1e6))
    return refuse_clock(work, error);
  char text[PLAG_NUMBER_TEXT_BYTES];
  out->clock[0] = (plag_clock_form){.kind = PLAG_CLOCK_ROWS,
                                    .column = -1,
                                    .date_column = -1,
                                    .unit_ns = (int64_t)llround(1e9 / rows_per_second),
                                    .period_ns = (int64_t)llround(1e9 / rows_per_second),
                                    .name = "row number"};
  out->clock_count = 1;
  (void)plag_note_list_add(notes, 0, 0, "no clock: rows are counted at %s a second, as stated",
                           plag_number_format_json(rows_per_second, 6, text));
  return PLATELAG_OK;
}

static void set_clocks(const shape_work *work, plag_shape *out) {
  out->clock_count = 0;
  for (size_t i = 0; i < work->layout->column_count; i++) {
    const bool chosen = out->kind == PLAG_SHAPE_CLOCK_PER_CHANNEL ? work->form[i].score > 0.6
                                                                  : (int)i == work->best;
    if (!chosen)
      continue;
    out->is_clock[i] = true;
    if (work->form[i].date_column >= 0)
      out->is_clock[work->form[i].date_column] = true;
    out->clock[out->clock_count++] = work->form[i];
  }
}

/* Gives each column its clock: the nearest to its left, or the only one. */
static void assign_clocks(const plag_layout *layout, plag_shape *out) {
  int clock = out->clock_count == 1 ? 0 : -1;
  for (size_t i = 0; i < layout->column_count; i++) {
    for (size_t k = 0; k < out->clock_count; k++)
      if (out->clock[k].column == (int)i && out->kind == PLAG_SHAPE_CLOCK_PER_CHANNEL)
        clock = (int)k;
    out->clock_of[i] = out->is_clock[i] ? -1 : clock;
  }
}

static void note_guesses(const plag_layout *layout, const plag_shape *shape,
                         plag_note_list *notes) {
  for (size_t i = 0; i < shape->clock_count; i++) {
    const plag_clock_form *form = &shape->clock[i];
    if (form->column < 0)
      continue;
    const char *name = layout->column[form->column].full_name;
    if (form->evidence[0] != '\0')
      (void)plag_note_list_add(notes, layout->data_line, form->column + 1, "clock \"%s\": %s", name,
                               form->evidence);
    char text[PLAG_NUMBER_TEXT_BYTES];
    if (form->quantum_ns > 0)
      (void)plag_note_list_add(
          notes, layout->data_line, form->column + 1,
          "clock \"%s\": about %s rows share each stamp; they are spread evenly over it", name,
          plag_number_format(form->rows_a_quantum, 1, text));
  }
}

static bool allocate(shape_work *work, plag_arena *arena, plag_shape *out) {
  const size_t columns = work->layout->column_count + 1;
  work->facts = plag_arena_take_array(arena, columns, sizeof *work->facts);
  work->form = plag_arena_take_array(arena, columns, sizeof *work->form);
  out->clock = plag_arena_take_array(arena, columns, sizeof *out->clock);
  out->clock_of = plag_arena_take_array(arena, columns, sizeof *out->clock_of);
  out->is_clock = plag_arena_take_array(arena, columns, sizeof *out->is_clock);
  out->on_change = plag_arena_take_array(arena, columns, sizeof *out->on_change);
  out->facts = work->facts;
  return work->facts != NULL && work->form != NULL && out->clock != NULL && out->clock_of != NULL &&
         out->is_clock != NULL && out->on_change != NULL;
}

platelag_status plag_shape_find(const plag_sample *sample, const plag_layout *layout,
                                const plag_notation *notation, double rows_per_second,
                                const char *file, plag_arena *arena, plag_note_list *notes,
                                plag_shape *out, platelag_error *error) {
  *out = (plag_shape){.run_column = -1, .name_column = -1, .value_column = -1, .unit_column = -1};
  shape_work work = {.sample = sample, .layout = layout, .file = file};
  if (!allocate(&work, arena, out) || !look_at_columns(&work, notation) ||
      (work.best >= 0 && !join_date(&work)))
    return plag_error_memory(error, "the columns");
  if (work.best >= 0 && find_long(&work, out)) {
    out->kind = PLAG_SHAPE_LONG;
    if (!plag_clock_measure(sample, out->name_column, &work.form[work.best]))
      return plag_error_memory(error, "the columns");
  } else if (count_clocks(&work) > 0) {
    out->kind = PLAG_SHAPE_CLOCK_PER_CHANNEL;
  }
  set_clocks(&work, out);
  if (out->clock_count == 0) {
    const platelag_status status = set_row_clock(&work, rows_per_second, out, notes, error);
    if (status != PLATELAG_OK)
      return status;
  }
  assign_clocks(layout, out);
  if (out->kind == PLAG_SHAPE_ONE_CLOCK)
    find_gaps(&work, out, notes);
  out->run_column = find_run(&work, out);
  if (out->run_column < 0) {
    const platelag_status status = refuse_mixed_runs(&work, out, error);
    if (status != PLATELAG_OK)
      return status;
  }
  note_guesses(layout, out, notes);
  return PLATELAG_OK;
}
