/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answers: a row a recording, gathered by student and vehicle. What is odd in them is told to
 * the instructor and never guessed at. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "mark/book.h"
#include "mark/words_of.h"

static const char *cell(const plag_class_book *book, size_t row, const char *column) {
  return plag_table_at(&book->answers, row, plag_table_find(&book->answers, column));
}

platelag_status plag_entry_remark(plag_entry *entry, const char *text, platelag_error *error) {
  if (text == NULL ||
      !plag_array_reserve((void **)&entry->remark, &entry->remark_capacity,
                          entry->submission.remark_count + 1, sizeof *entry->remark))
    return plag_error_memory(error, "a remark");
  entry->remark[entry->submission.remark_count++] = text;
  return PLATELAG_OK;
}

static plag_entry *find_entry(plag_class_book *book, const char *student, const char *vehicle) {
  for (size_t i = 0; i < book->entry_count; i++)
    if (strcmp(book->entry[i].submission.student, student) == 0 &&
        strcmp(book->entry[i].submission.vehicle, vehicle) == 0)
      return &book->entry[i];
  return NULL;
}

static platelag_status begin_entry(plag_class_book *book, const char *student, const char *vehicle,
                                   int64_t line, plag_entry **out, platelag_error *error) {
  *out = find_entry(book, student, vehicle);
  if (*out != NULL)
    return PLATELAG_OK;
  if (!plag_array_reserve((void **)&book->entry, &book->entry_capacity, book->entry_count + 1,
                          sizeof *book->entry))
    return plag_error_memory(error, "the answers");
  *out = &book->entry[book->entry_count++];
  **out = (plag_entry){.submission = {.student = student,
                                      .vehicle = vehicle,
                                      .line = line,
                                      .problem = "",
                                      .sentence = "",
                                      .found = PLATELAG_FINDING_UNDECIDED,
                                      .family = PLATELAG_FAMILY_UNDECIDED},
                       .key = plag_key_find(&book->key, vehicle)};
  (*out)->answer.probability = NAN;
  for (size_t i = 0; i < PLAG_MEASURED; i++)
    (*out)->answer.figure[i] = NAN;
  return PLATELAG_OK;
}

/* A folder above the class's is nobody's recording. */
static bool lies_inside(const char *name) {
  if (name[0] == '/')
    return false;
  for (const char *at = name; at != NULL && *at != '\0';) {
    if (strncmp(at, "..", 2) == 0 && (at[2] == '/' || at[2] == '\0'))
      return false;
    at = strchr(at, '/');
    at = at != NULL ? at + 1 : NULL;
  }
  return true;
}

static platelag_status add_file(plag_class_book *book, plag_entry *entry, size_t row,
                                platelag_error *error) {
  const char *name = cell(book, row, "file");
  const char *condition = cell(book, row, "condition");
  plag_file file = {.name = name};
  if (name[0] == '\0')
    return PLATELAG_OK;
  if (!plag_read_condition(condition, &file.condition))
    return plag_entry_remark(entry,
                             plag_words(&book->arena,
                                        "#s: the condition \"#s\" means nothing, expected road, "
                                        "rest, hand_sweep or after; the file was left out",
                                        name, condition),
                             error);
  if (!lies_inside(name))
    return plag_entry_remark(
        entry, plag_words(&book->arena, "#s: lies outside of the folder; left out", name), error);
  for (size_t i = 0; i < entry->file_count; i++)
    if (strcmp(entry->file[i].name, name) == 0)
      return plag_entry_remark(
          entry, plag_words(&book->arena, "#s: handed in twice; it counts once", name), error);
  if (entry->file_count == PLAG_FILES_MOST)
    return plag_entry_remark(
        entry,
        plag_words(&book->arena, "#s: more than #0 files; left out", name, (double)PLAG_FILES_MOST),
        error);
  for (size_t i = 0; i < entry->file_count; i++)
    if (entry->file[i].condition == file.condition) {
      const platelag_status status = plag_entry_remark(
          entry,
          plag_words(&book->arena, "#s: a second recording (#s); both were looked at together",
                     name, platelag_condition_name(file.condition)),
          error);
      if (status != PLATELAG_OK)
        return status;
      break;
    }
  entry->file[entry->file_count++] = file;
  return PLATELAG_OK;
}

/* What cannot be read is left for the instructor. */
static platelag_status tell_odd(plag_class_book *book, plag_entry *entry, const char *column,
                                const char *text, platelag_error *error) {
  return plag_entry_remark(
      entry, plag_words(&book->arena, "#s \"#s\" is not understood; mark it by hand", column, text),
      error);
}

/* Whether it was understood. */
static bool read_said(size_t which, const char *text, plag_answer *out) {
  switch (which) {
  case PLAG_SAID_FINDING:
    return out->finding_given = plag_read_finding(text, &out->finding);
  case PLAG_SAID_FAMILY:
    return out->family_given = plag_read_family(text, &out->family);
  case PLAG_SAID_VERDICT:
    return out->verdict_given = plag_read_verdict(text, &out->verdict);
  case PLAG_SAID_TEST:
    out->test = plag_read_test(text);
    return out->test != NULL;
  case PLAG_SAID_PROBABILITY:
    out->probability = plag_read_probability(text);
    return !isnan(out->probability);
  default:
    out->figure[which - PLAG_SAID_FIGURE] = plag_read_figure(text);
    return !isnan(out->figure[which - PLAG_SAID_FIGURE]);
  }
}

static const char *column_of(size_t which) {
  static const char *const words[PLAG_SAID_FIGURE] = {"finding", "family", "code_says", "next_test",
                                                      "probability"};
  return which < PLAG_SAID_FIGURE ? words[which] : plag_measured_key[which - PLAG_SAID_FIGURE];
}

/* An answer counts from the first row that gives it; another one further down is told. */
static platelag_status take_answer(plag_class_book *book, plag_entry *entry, size_t which,
                                   const char *text, platelag_error *error) {
  plag_answer *answer = &entry->answer;
  const char *before = answer->said[which];
  if (text[0] == '\0' || (before != NULL && strcmp(before, text) == 0))
    return PLATELAG_OK;
  if (before != NULL)
    return plag_entry_remark(entry,
                             plag_words(&book->arena,
                                        "#s: \"#s\" and \"#s\" were both given; the first counts",
                                        column_of(which), before, text),
                             error);
  answer->said[which] = text;
  answer->odd[which] = !read_said(which, text, answer);
  return answer->odd[which] ? tell_odd(book, entry, column_of(which), text, error) : PLATELAG_OK;
}

static platelag_status take_answers(plag_class_book *book, plag_entry *entry, size_t row,
                                    platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < PLAG_SAID && status == PLATELAG_OK; i++)
    status = take_answer(book, entry, i, cell(book, row, column_of(i)), error);
  return status;
}

static platelag_status take_row(plag_class_book *book, size_t row, platelag_error *error) {
  const char *student = cell(book, row, "student");
  const char *written = cell(book, row, "vehicle");
  const plag_key_row *key = plag_key_find(&book->key, written);
  const char *vehicle = key != NULL ? key->vehicle : written;
  plag_entry *entry = NULL;
  if (student[0] == '\0')
    return plag_error_set(error, PLATELAG_ERROR_INPUT, book->work->answers, book->answers.line[row],
                          0, "no student stands here");
  platelag_status status =
      begin_entry(book, student, vehicle, book->answers.line[row], &entry, error);
  if (status == PLATELAG_OK)
    status = add_file(book, entry, row, error);
  if (status == PLATELAG_OK)
    status = take_answers(book, entry, row, error);
  return status;
}

static int by_student(const void *one, const void *other) {
  const plag_entry *a = one;
  const plag_entry *b = other;
  const int student = strcmp(a->submission.student, b->submission.student);
  return student != 0 ? student : strcmp(a->submission.vehicle, b->submission.vehicle);
}

/* Of a student's entries, which stand together. */
static bool is_first_of(const plag_class_book *book, size_t entry) {
  return entry == 0 || strcmp(book->entry[entry].submission.student,
                              book->entry[entry - 1].submission.student) != 0;
}

/* Names that differ in blanks and case alone may be one person. */
static platelag_status tell_alike(plag_class_book *book, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i + 1 < book->entry_count && status == PLATELAG_OK; i++) {
    const char *one = book->entry[i].submission.student;
    for (size_t k = i + 1; k < book->entry_count && status == PLATELAG_OK; k++) {
      const char *other = book->entry[k].submission.student;
      if (is_first_of(book, i) && is_first_of(book, k) && strcmp(one, other) != 0 &&
          plag_same_name(one, other))
        status = plag_entry_remark(
            &book->entry[k],
            plag_words(&book->arena, "is \"#s\" the same person as \"#s\"?", other, one), error);
    }
  }
  return status;
}

platelag_status plag_answers_read(plag_class_book *book, platelag_error *error) {
  platelag_status status = plag_table_read(book->work->answers, &book->answers, error);
  if (status != PLATELAG_OK)
    return status;
  if (plag_table_find(&book->answers, "student") == SIZE_MAX ||
      plag_table_find(&book->answers, "vehicle") == SIZE_MAX)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, book->work->answers, 1, 0,
                          "the answers lack a column; expected student and vehicle, and maybe "
                          "file, condition, finding, family, code_says, next_test, probability, "
                          "stick_band_pct, opening_t63_s, closing_t63_s");
  for (size_t i = 0; i < book->answers.row_count && status == PLATELAG_OK; i++)
    status = take_row(book, i, error);
  if (status == PLATELAG_OK && book->entry_count > 0)
    qsort(book->entry, book->entry_count, sizeof *book->entry, by_student);
  return status == PLATELAG_OK ? tell_alike(book, error) : status;
}
