/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/manifest.h"

#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "core/table.h"
#include "fleet/calendar.h"
#include "fleet/conditions.h"

/* Texts of a row are where they begin in the manifest's words, whose first is "". */
typedef struct plag_manifest_file {
  int64_t at_unix_s;
  uint32_t file, vehicle, engine;
  uint32_t line; /* a table has fewer bytes than this holds */
  bool dated, condition_given;
  uint8_t condition;
} plag_manifest_file;

typedef struct plag_manifest_repair {
  int64_t at_unix_s;
  uint32_t vehicle, valve, what;
} plag_manifest_repair;

/* Where each column stands. */
typedef struct columns {
  size_t file, vehicle, engine, date, condition, repair, valve;
} columns;

typedef struct reading {
  const char *path;
  columns at;
  plag_manifest *manifest;
} reading;

static platelag_status find_columns(void *context, const plag_table_row *header,
                                    platelag_error *error) {
  reading *r = context;
  columns *at = &r->at;
  const struct {
    const char *name;
    size_t *place;
  } known[] = {{"file", &at->file},  {"vehicle", &at->vehicle},     {"engine", &at->engine},
               {"date", &at->date},  {"condition", &at->condition}, {"repair", &at->repair},
               {"valve", &at->valve}};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    *known[i].place = plag_table_row_find(header, known[i].name);
  r->manifest->tells_repairs = at->repair != SIZE_MAX;
  if (at->file == SIZE_MAX && at->repair == SIZE_MAX)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, r->path, 1, 0,
                          "found no column \"file\" or \"repair\", expected some of file, vehicle, "
                          "engine, date, condition, repair, valve");
  return PLATELAG_OK;
}

/* "./bus/monday.csv" is "bus/monday.csv". */
static const char *without_dot(const char *file) {
  return file[0] == '.' && file[1] == '/' ? file + 2 : file;
}

static const char *word_at(const plag_manifest *manifest, uint32_t at) {
  return manifest->words.bytes + at;
}

/* Where the word stands, which is put in if it is not the one at `above`: most rows repeat the
 * vehicle and the engine of the one before. */
static uint32_t keep_word(plag_manifest *manifest, const char *word, uint32_t above) {
  if (word[0] == '\0' || manifest->words.failed)
    return 0;
  if (strcmp(word_at(manifest, above), word) == 0)
    return above;
  const size_t at = manifest->words.length;
  plag_text_add_bytes(&manifest->words, word, strlen(word) + 1);
  return (uint32_t)at;
}

/* A row in the table's own texts. */
typedef struct told {
  const char *file, *vehicle, *repair;
  plag_manifest_file as;
} told;

static platelag_status check_row(const reading *r, const plag_table_row *row, told *out,
                                 platelag_error *error) {
  const char *date = plag_table_row_at(row, r->at.date);
  const char *word = plag_table_row_at(row, r->at.condition);
  platelag_condition condition = PLATELAG_CONDITION_ROAD;
  if (date[0] != '\0') {
    out->as.dated = plag_date_read(date, strlen(date), &out->as.at_unix_s);
    if (!out->as.dated)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, r->path, row->line, 0,
                            "found the date \"%s\", expected one such as 2026-03-14 or "
                            "2026-03-14 07:41",
                            date);
  }
  if (!plag_condition_read(word, strlen(word), &condition))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, r->path, row->line, 0,
                          "found the condition \"%s\", expected road, rest, hand_sweep or after",
                          word);
  out->as.condition_given = word[0] != '\0';
  out->as.condition = (uint8_t)condition;
  if (out->file[0] == '\0' && out->repair[0] == '\0')
    return plag_error_set(error, PLATELAG_ERROR_INPUT, r->path, row->line, 0,
                          "neither a file nor a repair stands here");
  if (out->repair[0] != '\0' && (out->vehicle[0] == '\0' || !out->as.dated))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, r->path, row->line, 0,
                          "a repair needs a vehicle and a date");
  return PLATELAG_OK;
}

static bool keep_file(const reading *r, const plag_table_row *row, const told *what) {
  plag_manifest *to = r->manifest;
  if (what->file[0] == '\0')
    return true;
  if (!plag_array_reserve((void **)&to->file, &to->file_capacity, to->file_count + 1,
                          sizeof *to->file))
    return false;
  const plag_manifest_file *above = to->file_count > 0 ? &to->file[to->file_count - 1] : NULL;
  plag_manifest_file *kept = &to->file[to->file_count];
  *kept = what->as;
  kept->line = (uint32_t)row->line;
  kept->file = keep_word(to, what->file, 0);
  kept->vehicle = keep_word(to, what->vehicle, above != NULL ? above->vehicle : 0);
  kept->engine =
      keep_word(to, plag_table_row_at(row, r->at.engine), above != NULL ? above->engine : 0);
  to->file_count++;
  return !to->words.failed;
}

static bool keep_repair(const reading *r, const plag_table_row *row, const told *what) {
  plag_manifest *to = r->manifest;
  if (what->repair[0] == '\0')
    return true;
  if (!plag_array_reserve((void **)&to->repair, &to->repair_capacity, to->repair_count + 1,
                          sizeof *to->repair))
    return false;
  const uint32_t above = to->repair_count > 0 ? to->repair[to->repair_count - 1].what : 0;
  to->repair[to->repair_count++] =
      (plag_manifest_repair){.at_unix_s = what->as.at_unix_s,
                             .vehicle = keep_word(to, what->vehicle, 0),
                             .valve = keep_word(to, plag_table_row_at(row, r->at.valve), 0),
                             .what = keep_word(to, what->repair, above)};
  return !to->words.failed;
}

static platelag_status take_row(void *context, const plag_table_row *row, platelag_error *error) {
  const reading *r = context;
  told what = {.file = without_dot(plag_table_row_at(row, r->at.file)),
               .vehicle = plag_table_row_at(row, r->at.vehicle),
               .repair = plag_table_row_at(row, r->at.repair)};
  const platelag_status status = check_row(r, row, &what, error);
  if (status != PLATELAG_OK)
    return status;
  return keep_file(r, row, &what) && keep_repair(r, row, &what)
             ? PLATELAG_OK
             : plag_error_memory(error, "the manifest");
}

static int by_file(const void *one, const void *other, void *words) {
  const plag_manifest_file *a = one;
  const plag_manifest_file *b = other;
  const int order = strcmp((const char *)words + a->file, (const char *)words + b->file);
  return order != 0 ? order : (a->line > b->line) - (a->line < b->line);
}

static platelag_status read_all(const char *path, plag_manifest *out, platelag_error *error) {
  reading r = {.path = path, .manifest = out};
  plag_text_add_char(&out->words, '\0');
  platelag_status status = plag_table_visit(path, find_columns, take_row, &r, error);
  if (status == PLATELAG_OK && out->words.failed)
    status = plag_error_memory(error, "the manifest");
  if (status != PLATELAG_OK || out->file_count == 0)
    return status;
  plag_manifest_file *file = out->file;
  qsort_r(file, out->file_count, sizeof *file, by_file, out->words.bytes);
  for (size_t i = 1; i < out->file_count; i++)
    if (strcmp(word_at(out, file[i].file), word_at(out, file[i - 1].file)) == 0)
      return plag_error_set(error, PLATELAG_ERROR_INPUT, path, file[i].line, 0,
                            "\"%s\" stands in line %lld already", word_at(out, file[i].file),
                            (long long)file[i - 1].line);
  return PLATELAG_OK;
}

platelag_status plag_manifest_read(const char *path, plag_manifest *out, platelag_error *error) {
  *out = (plag_manifest){0};
  const platelag_status status = read_all(path, out, error);
  if (status != PLATELAG_OK)
    plag_manifest_clear(out);
  return status;
}

void plag_manifest_clear(plag_manifest *manifest) {
  free(manifest->file);
  free(manifest->repair);
  plag_text_clear(&manifest->words);
  *manifest = (plag_manifest){0};
}

static const plag_manifest_file *find_file(const plag_manifest *manifest, const char *name) {
  size_t from = 0;
  size_t to = manifest->file_count;
  while (from < to) {
    const size_t middle = from + (to - from) / 2;
    const int order = strcmp(name, word_at(manifest, manifest->file[middle].file));
    if (order == 0)
      return &manifest->file[middle];
    if (order < 0)
      to = middle;
    else
      from = middle + 1;
  }
  return NULL;
}

plag_manifest_row plag_manifest_row_at(const plag_manifest *manifest, size_t index) {
  const plag_manifest_file *row = &manifest->file[index];
  return (plag_manifest_row){.file = word_at(manifest, row->file),
                             .vehicle = word_at(manifest, row->vehicle),
                             .engine = word_at(manifest, row->engine),
                             .dated = row->dated,
                             .at_unix_s = row->at_unix_s,
                             .condition_given = row->condition_given,
                             .condition = (platelag_condition)row->condition,
                             .line = row->line};
}

bool plag_manifest_find(const plag_manifest *manifest, const char *path, plag_manifest_row *out) {
  const plag_manifest_file *found = NULL;
  for (const char *end = path; end != NULL && *end != '\0' && found == NULL;) {
    found = find_file(manifest, end);
    end = strchr(end, '/');
    end = end != NULL ? end + 1 : NULL;
  }
  if (found != NULL)
    *out = plag_manifest_row_at(manifest, (size_t)(found - manifest->file));
  return found != NULL;
}

plag_repair_row plag_manifest_repair_at(const plag_manifest *manifest, size_t index) {
  const plag_manifest_repair *repair = &manifest->repair[index];
  return (plag_repair_row){.vehicle = word_at(manifest, repair->vehicle),
                           .valve = word_at(manifest, repair->valve),
                           .what = word_at(manifest, repair->what),
                           .at_unix_s = repair->at_unix_s};
}
