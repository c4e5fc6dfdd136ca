/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/table.h"

#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"

/* A copy of the cell; what is empty, or says the same as the cell above, is kept once: most tables
 * repeat themselves, and some are long. */
static const char *keep_cell(plag_table *table, const char *text, const char *above) {
  if (text[0] == '\0')
    return "";
  return above != NULL && strcmp(above, text) == 0 ? above
                                                   : plag_arena_copy_text(&table->arena, text);
}

static platelag_status take_header(void *context, const plag_table_row *row,
                                   platelag_error *error) {
  plag_table *table = context;
  table->column = plag_arena_take_array(&table->arena, row->count, sizeof *table->column);
  bool whole = table->column != NULL;
  for (size_t i = 0; i < row->count && whole; i++) {
    table->column[i] = keep_cell(table, row->cell[i], NULL);
    whole = table->column[i] != NULL;
  }
  table->column_count = whole ? row->count : 0;
  return whole ? PLATELAG_OK : plag_error_memory(error, "a table");
}

static bool reserve(plag_table *table, size_t cells) {
  return plag_array_reserve((void **)&table->cell, &table->cell_capacity, cells,
                            sizeof *table->cell) &&
         plag_array_reserve((void **)&table->row_begin, &table->begin_capacity,
                            table->row_count + 2, sizeof *table->row_begin) &&
         plag_array_reserve((void **)&table->line, &table->line_capacity, table->row_count + 1,
                            sizeof *table->line);
}

static platelag_status take_row(void *context, const plag_table_row *row, platelag_error *error) {
  plag_table *table = context;
  const size_t first = table->row_count > 0 ? table->row_begin[table->row_count] : 0;
  size_t count = row->count;
  while (count > 0 && row->cell[count - 1][0] == '\0')
    count--;
  bool whole = reserve(table, first + count);
  for (size_t i = 0; i < count && whole; i++) {
    const char *above = table->row_count > 0 ? plag_table_at(table, table->row_count - 1, i) : NULL;
    table->cell[first + i] = keep_cell(table, row->cell[i], above);
    whole = table->cell[first + i] != NULL;
  }
  if (!whole)
    return plag_error_memory(error, "a table");
  table->row_begin[table->row_count] = first;
  table->row_begin[table->row_count + 1] = first + count;
  table->line[table->row_count++] = row->line;
  return PLATELAG_OK;
}

platelag_status plag_table_read(const char *path, plag_table *out, platelag_error *error) {
  return plag_table_visit(path, take_header, take_row, out, error);
}

void plag_table_clear(plag_table *table) {
  free((void *)table->cell);
  free(table->row_begin);
  free(table->line);
  plag_arena_clear(&table->arena);
  *table = (plag_table){0};
}

size_t plag_table_find(const plag_table *table, const char *name) {
  const plag_table_row header = {.cell = table->column, .count = table->column_count};
  return plag_table_row_find(&header, name);
}

const char *plag_table_at(const plag_table *table, size_t row, size_t column) {
  if (column == SIZE_MAX)
    return "";
  const size_t begin = table->row_begin[row];
  return column < table->row_begin[row + 1] - begin ? table->cell[begin + column] : "";
}
