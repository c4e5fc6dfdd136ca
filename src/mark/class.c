/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A class from its tables and recordings to its marks. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "core/statistics.h"
#include "mark/book.h"

/* Why nothing can be marked, "": it can; NULL without memory. */
static const char *problem_of(plag_class_book *book, const plag_entry *entry) {
  if (entry->submission.vehicle[0] == '\0')
    return "no vehicle is named";
  if (entry->key == NULL)
    return plag_words(&book->arena, "the key knows no vehicle \"#s\"", entry->submission.vehicle);
  if (entry->file_count == 0)
    return "no recording was handed in";
  if (entry->shown.conditions == 0)
    return "none of the recordings could be read";
  return "";
}

static void sum_up(platelag_submission *submission) {
  submission->points = 0;
  submission->of = 0;
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    if (!submission->mark[i].applies)
      continue;
    submission->points += submission->mark[i].points;
    submission->of += submission->mark[i].of;
  }
  submission->percent = submission->of > 0 ? 100 * submission->points / submission->of : NAN;
}

static platelag_status mark_entry(plag_class_book *book, plag_entry *entry,
                                  platelag_workspace *workspace, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    entry->submission.mark[i] = (platelag_mark){.reason = "", .advice = ""};
  /* Also without a key: what is wrong with the files is told, and their likenesses are found. */
  if (entry->file_count > 0)
    status = plag_entry_look(book, entry, workspace, error);
  if (status != PLATELAG_OK)
    return status;
  entry->submission.problem = problem_of(book, entry);
  if (entry->submission.problem == NULL)
    return plag_error_memory(error, "the marks");
  entry->submission.marked = entry->submission.problem[0] == '\0';
  if (entry->submission.marked)
    status = plag_entry_mark_recording(book, entry, error);
  if (entry->submission.marked && status == PLATELAG_OK)
    status = plag_entry_mark_conclusion(book, entry, error);
  sum_up(&entry->submission);
  return status;
}

static platelag_status mark_entries(plag_class_book *book, platelag_error *error) {
  platelag_workspace *workspace = NULL;
  platelag_status status = platelag_workspace_create(&workspace, error);
  for (size_t i = 0; i < book->entry_count && status == PLATELAG_OK; i++)
    status = mark_entry(book, &book->entry[i], workspace, error);
  platelag_workspace_destroy(workspace);
  return status;
}

/* "nofile.csv, two.csv" of an entry. */
static const char *list_files(plag_class_book *book, const plag_entry *entry) {
  const char *list = "";
  for (size_t i = 0; i < entry->file_count && list != NULL; i++)
    list = plag_words(&book->arena, "#s#s#s", list, i > 0 ? ", " : "", entry->file[i].name);
  return list;
}

static platelag_status publish(plag_class_book *book, platelag_error *error) {
  platelag_class *marked = &book->marked;
  platelag_submission *list =
      plag_arena_take_array(&book->arena, book->entry_count + 1, sizeof *list);
  double *percent = plag_arena_take_array(&book->arena, book->entry_count + 1, sizeof *percent);
  size_t counted = 0;
  if (list == NULL || percent == NULL)
    return plag_error_memory(error, "the marks");
  for (size_t i = 0; i < book->entry_count; i++) {
    plag_entry *entry = &book->entry[i];
    entry->submission.files = list_files(book, entry);
    if (entry->submission.files == NULL)
      return plag_error_memory(error, "the marks");
    entry->submission.remark = entry->remark;
    list[i] = entry->submission;
    marked->student_count += i == 0 || strcmp(list[i].student, list[i - 1].student) != 0;
    if (list[i].marked && isfinite(list[i].percent))
      percent[counted++] = list[i].percent;
  }
  marked->submission = list;
  marked->submission_count = book->entry_count;
  marked->likeness = book->likeness;
  marked->likeness_count = book->likeness_count;
  marked->median_percent = plag_median(percent, counted);
  marked->rubric = book->rubric;
  return PLATELAG_OK;
}

platelag_status platelag_class_build(const platelag_mark_work *work, platelag_class **out,
                                     platelag_error *error) {
  *out = NULL;
  plag_class_book *book = calloc(1, sizeof *book);
  if (book == NULL)
    return plag_error_memory(error, "the class");
  book->work = work;
  book->marked.book = book;
  book->rubric = work->rubric;
  platelag_status status = PLATELAG_OK;
  if (work->rubric == NULL) {
    status = platelag_rubric_create(&book->own_rubric, error);
    book->rubric = book->own_rubric;
  }
  if (status == PLATELAG_OK)
    status = plag_key_read(work->key, &book->key, error);
  if (status == PLATELAG_OK)
    status = plag_answers_read(book, error);
  if (status == PLATELAG_OK)
    status = mark_entries(book, error);
  if (status == PLATELAG_OK)
    status = plag_book_compare(book, error);
  if (status == PLATELAG_OK)
    status = publish(book, error);
  if (status == PLATELAG_OK)
    *out = &book->marked;
  else
    platelag_class_destroy(&book->marked);
  return status;
}

void platelag_class_destroy(platelag_class *marked) {
  if (marked == NULL)
    return;
  plag_class_book *book = marked->book;
  for (size_t i = 0; i < book->entry_count; i++) {
    free((void *)book->entry[i].remark);
    for (size_t k = 0; k < book->entry[i].file_count; k++)
      for (size_t c = 0; c < PLAG_COMPARED; c++)
        free(book->entry[i].file[k].series[c]);
  }
  free(book->entry);
  free(book->likeness);
  plag_key_clear(&book->key);
  plag_table_clear(&book->answers);
  platelag_rubric_destroy(book->own_rubric);
  plag_arena_clear(&book->arena);
  free(book);
}
