/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The key: what is true of each vehicle, and what was asked for. */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "mark/book.h"
#include "mark/words_of.h"

const char *const plag_measured_key[PLAG_MEASURED] = {"stick_band_pct", "opening_t63_s",
                                                      "closing_t63_s"};
const char *const plag_measured_name[PLAG_MEASURED] = {"stick band", "opening t63", "closing t63"};
const char *const plag_measured_unit[PLAG_MEASURED] = {"% of travel", "s", "s"};

static const char *cell(const plag_table *table, size_t row, const char *column) {
  return plag_table_at(table, row, plag_table_find(table, column));
}

static platelag_status refuse(const char *path, int64_t line, const char *what, const char *found,
                              const char *expected, platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, path, line, 0, "%s \"%s\"; expected %s", what,
                        found, expected);
}

enum { WORD_BYTES = 64 };

/* What parts the words of a list: commas and the like, so that "hand sweep, road" are two; else
 * blanks. */
static const char *separators_of(const char *text) {
  return strpbrk(text, ",;|+/") != NULL ? ",;|+/" : " ";
}

/* Words of a list, each taken off the front of `*rest`. */
static bool next_word(const char **rest, const char *separators, char word[WORD_BYTES]) {
  while (**rest != '\0' && (**rest == ' ' || strchr(separators, **rest) != NULL))
    (*rest)++;
  const size_t length = strcspn(*rest, separators);
  const size_t kept = length < WORD_BYTES - 1 ? length : WORD_BYTES - 1;
  memcpy(word, *rest, kept);
  word[kept] = '\0';
  *rest += length;
  return length > 0;
}

static bool is_test(const char *text) {
  return plag_read_test(text) != NULL;
}

static bool is_condition(const char *text) {
  platelag_condition condition = PLATELAG_CONDITION_ROAD;
  return plag_read_condition(text, &condition);
}

/* What is one word as it stands ("hand sweep") needs no parting. */
static const char *part_by(const char *text, bool (*is_word)(const char *)) {
  return is_word(text) ? "" : separators_of(text);
}

static platelag_status read_tests(const char *path, const char *text, plag_key_row *row,
                                  platelag_error *error) {
  char word[WORD_BYTES];
  const char *separators = part_by(text, is_test);
  while (next_word(&text, separators, word)) {
    const char *test = plag_read_test(word);
    if (test == NULL)
      return refuse(path, row->line, "found the next test", word,
                    "hand_sweep, connector, active_test, supply, borescope, hot_drive or "
                    "record_again",
                    error);
    if (row->test_count < PLAG_TESTS_MOST)
      row->test[row->test_count++] = test;
  }
  return PLATELAG_OK;
}

static platelag_status read_conditions(const char *path, const char *text, plag_key_row *row,
                                       platelag_error *error) {
  char word[WORD_BYTES];
  const char *separators = part_by(text, is_condition);
  while (next_word(&text, separators, word)) {
    platelag_condition condition = PLATELAG_CONDITION_ROAD;
    if (!plag_read_condition(word, &condition))
      return refuse(path, row->line, "found the condition", word, "road, rest, hand_sweep or after",
                    error);
    row->conditions |= 1U << condition;
  }
  if (row->conditions == 0)
    row->conditions = 1U << PLATELAG_CONDITION_ROAD;
  return PLATELAG_OK;
}

static platelag_status read_words(const char *path, const plag_table *table, size_t at,
                                  plag_key_row *row, platelag_error *error) {
  const char *finding = cell(table, at, "finding");
  const char *family = cell(table, at, "family");
  const char *verdict = cell(table, at, "code_says");
  if (row->vehicle[0] == '\0')
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, row->line, 0,
                          "no vehicle stands here");
  if (!plag_read_finding(finding, &row->finding))
    return refuse(path, row->line, "found the finding", finding,
                  "free, slow, sticking, short_travel, still, signal_high, signal_low, "
                  "signal_erratic, signal_shifted or cannot_tell",
                  error);
  row->family_given = family[0] != '\0';
  if (row->family_given && !plag_read_family(family, &row->family))
    return refuse(path, row->line, "found the family", family,
                  "free, mechanical, sensor_circuit, drive or undecided", error);
  row->verdict_given = verdict[0] != '\0';
  if (row->verdict_given && !plag_read_verdict(verdict, &row->verdict))
    return refuse(path, row->line, "found code_says", verdict,
                  "supported, contradicted or cannot_tell", error);
  return PLATELAG_OK;
}

static platelag_status read_figures(const char *path, const plag_table *table, size_t at,
                                    plag_key_row *row, platelag_error *error) {
  for (size_t i = 0; i < PLAG_MEASURED; i++) {
    const char *text = cell(table, at, plag_measured_key[i]);
    row->figure[i] = plag_read_figure(text);
    if (text[0] != '\0' && isnan(row->figure[i]))
      return refuse(path, row->line, plag_measured_key[i], text, "a number", error);
  }
  return PLATELAG_OK;
}

static platelag_status read_row(const char *path, const plag_table *table, size_t at,
                                plag_key_row *row, platelag_error *error) {
  *row = (plag_key_row){.vehicle = cell(table, at, "vehicle"),
                        .valve = cell(table, at, "valve"),
                        .code = cell(table, at, "code"),
                        .line = table->line[at]};
  platelag_status status = read_words(path, table, at, row, error);
  if (status == PLATELAG_OK)
    status = read_tests(path, cell(table, at, "next_test"), row, error);
  if (status == PLATELAG_OK)
    status = read_conditions(path, cell(table, at, "conditions"), row, error);
  return status == PLATELAG_OK ? read_figures(path, table, at, row, error) : status;
}

platelag_status plag_key_read(const char *path, plag_key_table *out, platelag_error *error) {
  *out = (plag_key_table){0};
  platelag_status status = plag_table_read(path, &out->table, error);
  if (status != PLATELAG_OK)
    return status;
  if (plag_table_find(&out->table, "vehicle") == SIZE_MAX ||
      plag_table_find(&out->table, "finding") == SIZE_MAX)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, 1, 0,
                          "the key lacks a column; expected vehicle and finding, and maybe valve, "
                          "family, code, code_says, next_test, conditions, stick_band_pct, "
                          "opening_t63_s, closing_t63_s");
  out->row = plag_arena_take_array(&out->table.arena, out->table.row_count + 1, sizeof *out->row);
  if (out->row == NULL)
    return plag_error_memory(error, "the key");
  for (size_t i = 0; i < out->table.row_count && status == PLATELAG_OK; i++) {
    status = read_row(path, &out->table, i, &out->row[i], error);
    const plag_key_row *same =
        status == PLATELAG_OK ? plag_key_find(out, out->row[i].vehicle) : NULL;
    if (same != NULL && strcmp(same->vehicle, out->row[i].vehicle) == 0)
      status = plag_error_set(error, PLATELAG_ERROR_INPUT, path, out->row[i].line, 0,
                              "\"%s\" stands in line %lld already", same->vehicle,
                              (long long)same->line);
    out->count = i + 1;
  }
  return status;
}

void plag_key_clear(plag_key_table *key) {
  plag_table_clear(&key->table);
  *key = (plag_key_table){0};
}

const plag_key_row *plag_key_find(const plag_key_table *key, const char *vehicle) {
  const plag_key_row *alike = NULL;
  size_t count = 0;
  for (size_t i = 0; i < key->count; i++) {
    if (strcmp(key->row[i].vehicle, vehicle) == 0)
      return &key->row[i];
    if (plag_same_name(key->row[i].vehicle, vehicle)) {
      alike = &key->row[i];
      count++;
    }
  }
  return count == 1 ? alike : NULL;
}
