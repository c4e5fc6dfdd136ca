/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/manifest.h"

#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "fleet/calendar.h"
#include "fleet/conditions.h"

/* Where each column stands. */
typedef struct columns {
  size_t file, vehicle, engine, date, condition, repair, valve;
} columns;

static platelag_status find_columns(const char *path, const plag_table *table, columns *out,
                                    platelag_error *error) {
  const struct {
    const char *name;
    size_t *place;
  } known[] = {{"file", &out->file},  {"vehicle", &out->vehicle},     {"engine", &out->engine},
               {"date", &out->date},  {"condition", &out->condition}, {"repair", &out->repair},
               {"valve", &out->valve}};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    *known[i].place = plag_table_find(table, known[i].name);
  if (out->file == SIZE_MAX && out->repair == SIZE_MAX)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, 1, 0,
                          "found no column \"file\" or \"repair\", expected some of file, vehicle, "
                          "engine, date, condition, repair, valve");
  return PLATELAG_OK;
}

/* "./bus/monday.csv" is "bus/monday.csv". */
static const char *without_dot(const char *file) {
  return file[0] == '.' && file[1] == '/' ? file + 2 : file;
}

static platelag_status read_row(const char *path, const plag_table *table, const columns *at,
                                size_t row, plag_manifest_row *out, platelag_error *error) {
  const char *date = plag_table_at(table, row, at->date);
  const char *condition = plag_table_at(table, row, at->condition);
  *out = (plag_manifest_row){.file = without_dot(plag_table_at(table, row, at->file)),
                             .vehicle = plag_table_at(table, row, at->vehicle),
                             .engine = plag_table_at(table, row, at->engine),
                             .valve = plag_table_at(table, row, at->valve),
                             .repair = plag_table_at(table, row, at->repair),
                             .condition_given = condition[0] != '\0',
                             .line = table->line[row]};
  if (date[0] != '\0') {
    out->dated = plag_date_read(date, strlen(date), &out->at_unix_s);
    if (!out->dated)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, path, out->line, 0,
                            "found the date \"%s\", expected one such as 2026-03-14 or "
                            "2026-03-14 07:41",
                            date);
  }
  if (!plag_condition_read(condition, strlen(condition), &out->condition))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, out->line, 0,
                          "found the condition \"%s\", expected road, rest, hand_sweep or after",
                          condition);
  if (out->file[0] == '\0' && out->repair[0] == '\0')
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, out->line, 0,
                          "neither a file nor a repair stands here");
  if (out->repair[0] != '\0' && (out->vehicle[0] == '\0' || !out->dated))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, out->line, 0,
                          "a repair needs a vehicle and a date");
  return PLATELAG_OK;
}

static int by_file(const void *one, const void *other) {
  const plag_manifest_row *a = one;
  const plag_manifest_row *b = other;
  if ((a->file[0] == '\0') != (b->file[0] == '\0'))
    return a->file[0] == '\0' ? 1 : -1;
  const int order = strcmp(a->file, b->file);
  return order != 0 ? order : (a->line > b->line) - (a->line < b->line);
}

platelag_status plag_manifest_read(const char *path, plag_manifest *out, platelag_error *error) {
  columns at;
  *out = (plag_manifest){0};
  platelag_status status = plag_table_read(path, &out->table, error);
  if (status == PLATELAG_OK)
    status = find_columns(path, &out->table, &at, error);
  if (status != PLATELAG_OK)
    return status;
  const size_t count = out->table.row_count;
  plag_manifest_row *row = plag_arena_take_array(&out->table.arena, count + 1, sizeof *row);
  if (row == NULL)
    return plag_error_memory(error, "the manifest");
  for (size_t i = 0; i < count && status == PLATELAG_OK; i++)
    status = read_row(path, &out->table, &at, i, &row[i], error);
  if (status != PLATELAG_OK)
    return status;
  qsort(row, count, sizeof *row, by_file);
  size_t files = 0;
  while (files < count && row[files].file[0] != '\0')
    files++;
  for (size_t i = 1; i < files; i++)
    if (strcmp(row[i].file, row[i - 1].file) == 0)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, path, row[i].line, 0,
                            "\"%s\" stands in line %lld already", row[i].file,
                            (long long)row[i - 1].line);
  out->row = row;
  out->row_count = count;
  out->file_count = files;
  out->tells_repairs = at.repair != SIZE_MAX;
  return PLATELAG_OK;
}

void plag_manifest_clear(plag_manifest *manifest) {
  plag_table_clear(&manifest->table);
  *manifest = (plag_manifest){0};
}

static int file_against(const void *name, const void *row) {
  return strcmp(name, ((const plag_manifest_row *)row)->file);
}

const plag_manifest_row *plag_manifest_find(const plag_manifest *manifest, const char *path) {
  for (const char *end = path; end != NULL && *end != '\0';) {
    const plag_manifest_row *found = manifest->file_count == 0
                                         ? NULL
                                         : bsearch(end, manifest->row, manifest->file_count,
                                                   sizeof *manifest->row, file_against);
    if (found != NULL)
      return found;
    end = strchr(end, '/');
    end = end != NULL ? end + 1 : NULL;
  }
  return NULL;
}
