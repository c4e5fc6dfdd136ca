/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/sheet.h"

#include <math.h>

#include "core/error.h"

enum { BEFORE = 11, BEHIND = 5, CELLS = BEFORE + PLATELAG_CRITERIA + BEHIND };

static plag_sheet_cell text_cell(const char *text) {
  return (plag_sheet_cell){.text = text != NULL ? text : "", .number = NAN};
}

static plag_sheet_cell number_cell(double number, int decimals) {
  return (plag_sheet_cell){.number = number, .decimals = decimals};
}

static void give_head(plag_take_sheet_row *take, void *context) {
  static const char *const before[BEFORE] = {"student", "vehicle",         "files",       "marked",
                                             "points",  "out_of",          "percent",     "problem",
                                             "finding", "recordings_show", "family_shown"};
  static const char *const behind[BEHIND] = {"reasons", "advice", "remarks", "likenesses",
                                             "line_of_answers"};
  plag_sheet_cell cell[CELLS];
  size_t count = 0;
  for (size_t i = 0; i < BEFORE; i++)
    cell[count++] = text_cell(before[i]);
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    cell[count++] = text_cell(platelag_criterion_key(i));
  for (size_t i = 0; i < BEHIND; i++)
    cell[count++] = text_cell(behind[i]);
  take(context, cell, count, true);
}

void plag_sheet_add_likenesses(plag_text *out, const platelag_class *marked, size_t submission) {
  for (size_t i = 0; i < marked->likeness_count; i++) {
    const platelag_likeness *likeness = &marked->likeness[i];
    if (likeness->one != submission && likeness->other != submission)
      continue;
    const bool first = likeness->one == submission;
    const platelag_submission *with = &marked->submission[first ? likeness->other : likeness->one];
    plag_text_add_format(
        out, "%s%s is like %s of %s: %s (correlation of the noise ", out->length > 0 ? " " : "",
        first ? likeness->file_one : likeness->file_other,
        first ? likeness->file_other : likeness->file_one, with->student, likeness->what);
    plag_text_add_number(out, likeness->correlation, 2);
    plag_text_add_format(out, " over %zu readings).", likeness->samples);
  }
}

/* Texts of one row that are put together from pieces. */
typedef struct drafts {
  plag_text reasons, advice, remarks, likenesses;
} drafts;

static const char *text_of(const plag_text *text) {
  return text->bytes != NULL ? text->bytes : "";
}

static void draft(const platelag_class *marked, size_t index, drafts *to) {
  const platelag_submission *one = &marked->submission[index];
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    const platelag_mark *mark = &one->mark[i];
    if (!mark->applies)
      continue;
    plag_text_add_format(&to->reasons, "%s%s: %s.", to->reasons.length > 0 ? " " : "",
                         platelag_criterion_title(i), mark->reason);
    if (mark->advice[0] != '\0')
      plag_text_add_format(&to->advice, "%s%s", to->advice.length > 0 ? " " : "", mark->advice);
  }
  for (size_t i = 0; i < one->remark_count; i++)
    plag_text_add_format(&to->remarks, "%s%s.", to->remarks.length > 0 ? " " : "", one->remark[i]);
  plag_sheet_add_likenesses(&to->likenesses, marked, index);
}

static void clear(drafts *to) {
  plag_text_reset(&to->reasons);
  plag_text_reset(&to->advice);
  plag_text_reset(&to->remarks);
  plag_text_reset(&to->likenesses);
}

static void give_row(const platelag_submission *one, const drafts *from, plag_take_sheet_row *take,
                     void *context) {
  plag_sheet_cell cell[CELLS];
  size_t count = 0;
  cell[count++] = text_cell(one->student);
  cell[count++] = text_cell(one->vehicle);
  cell[count++] = text_cell(one->files);
  cell[count++] = text_cell(one->marked ? "yes" : "no");
  cell[count++] = number_cell(one->marked ? one->points : NAN, 1);
  cell[count++] = number_cell(one->marked ? one->of : NAN, 0);
  cell[count++] = number_cell(one->marked ? one->percent : NAN, 1);
  cell[count++] = text_cell(one->problem);
  cell[count++] = text_cell(one->sentence);
  cell[count++] = text_cell(one->marked ? platelag_finding_name(one->found) : "");
  cell[count++] = text_cell(one->marked ? platelag_family_name(one->family) : "");
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    cell[count++] = number_cell(one->mark[i].applies ? one->mark[i].points : NAN, 1);
  cell[count++] = text_cell(text_of(&from->reasons));
  cell[count++] = text_cell(text_of(&from->advice));
  cell[count++] = text_cell(text_of(&from->remarks));
  cell[count++] = text_cell(text_of(&from->likenesses));
  cell[count++] = number_cell((double)one->line, 0);
  take(context, cell, count, false);
}

platelag_status plag_sheet_walk(const platelag_class *marked, plag_take_sheet_row *take,
                                void *context, platelag_error *error) {
  drafts to = {{0}, {0}, {0}, {0}};
  bool failed = false;
  give_head(take, context);
  for (size_t i = 0; i < marked->submission_count && !failed; i++) {
    draft(marked, i, &to);
    failed = to.reasons.failed || to.advice.failed || to.remarks.failed || to.likenesses.failed;
    if (!failed)
      give_row(&marked->submission[i], &to, take, context);
    clear(&to);
  }
  plag_text_clear(&to.reasons);
  plag_text_clear(&to.advice);
  plag_text_clear(&to.remarks);
  plag_text_clear(&to.likenesses);
  return failed ? plag_error_memory(error, "the marks") : PLATELAG_OK;
}
