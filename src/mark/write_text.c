/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A class at a glance, for a terminal. */
#include <string.h>

#include "core/error.h"
#include "core/escape.h"
#include "core/sheet.h"
#include "core/words.h"
#include "core/wrap.h"
#include "mark/sheet.h"
#include "mark/tally.h"

enum { DEFAULT_WIDTH = 100, NAME_WIDTH = 24, VEHICLE_WIDTH = 14 };

static void head(plag_sheet *s, const char *text) {
  plag_sheet_emphasise(s, "\033[1m", text);
  plag_text_add(&s->out, "\n");
}

static void say(plag_sheet *s, size_t indent, const char *sentence) {
  plag_sheet_say(s, indent, indent + 2, sentence);
}

/* Filled up to a width; longer names push the rest on. */
static void add_padded(plag_sheet *s, const char *text, size_t width) {
  plag_text clean = {0};
  plag_escape_add(&clean, text);
  const size_t is = clean.bytes != NULL ? plag_utf8_width(clean.bytes, clean.length) : 0;
  plag_text_add(&s->out, clean.bytes != NULL ? clean.bytes : "");
  plag_wrap_add_blanks(&s->out, is < width ? width - is + 1 : 1);
  s->out.failed = s->out.failed || clean.failed;
  plag_text_clear(&clean);
}

static void add_submission(plag_sheet *s, const platelag_submission *one) {
  add_padded(s, one->student, NAME_WIDTH);
  add_padded(s, one->vehicle, VEHICLE_WIDTH);
  if (!one->marked) {
    plag_text_add(&s->out, "not marked: ");
    plag_escape_add(&s->out, one->problem);
    plag_text_add(&s->out, "\n");
    return;
  }
  plag_text_add_number(&s->out, one->points, 1);
  plag_text_add(&s->out, " of ");
  plag_text_add_number(&s->out, one->of, 0);
  plag_text_add(&s->out, " (");
  plag_text_add_number(&s->out, one->percent, 0);
  plag_text_add(&s->out, " %)");
  const size_t worst = plag_dearest(one);
  if (worst < PLATELAG_CRITERIA) {
    plag_text_add(&s->out, "  most lost by ");
    plag_text_add(&s->out, platelag_criterion_title(worst));
  }
  plag_text_add(&s->out, "\n");
}

static void add_likenesses(plag_sheet *s, const platelag_class *marked) {
  if (marked->likeness_count == 0)
    return;
  plag_text_add(&s->out, "\n");
  head(s, "LIKENESSES, for a person to judge");
  for (size_t i = 0; i < marked->likeness_count; i++) {
    const platelag_likeness *of = &marked->likeness[i];
    say(s, 2,
        plag_words(&s->arena,
                   "#s (#s) and #s (#s): #s; the noise agrees with #2 over #0 readings, two honest "
                   "recordings' does not.",
                   marked->submission[of->one].student, of->file_one,
                   marked->submission[of->other].student, of->file_other, of->what, of->correlation,
                   (double)of->samples));
  }
}

static void add_remarks(plag_sheet *s, const platelag_class *marked) {
  bool begun = false;
  for (size_t i = 0; i < marked->submission_count; i++) {
    const platelag_submission *one = &marked->submission[i];
    for (size_t k = 0; k < one->remark_count; k++) {
      if (!begun) {
        plag_text_add(&s->out, "\n");
        head(s, "TO BE SEEN TO");
      }
      begun = true;
      say(s, 2, plag_words(&s->arena, "#s, #s: #s", one->student, one->vehicle, one->remark[k]));
    }
  }
}

static size_t count_marked(const platelag_class *marked) {
  size_t count = 0;
  for (size_t i = 0; i < marked->submission_count; i++)
    count += marked->submission[i].marked;
  return count;
}

/* Of a single submission there is no median: its own line says all. */
static const char *summary_of(const platelag_class *marked, plag_arena *arena) {
  const double students = (double)marked->student_count;
  const double submissions = (double)marked->submission_count;
  const size_t count = count_marked(marked);
  if (count == 0)
    return plag_words(arena, "#c, none could be marked.", submissions, "submission");
  if (count == 1)
    return plag_words(arena, "#c, #c.", students, "student", submissions, "submission");
  return plag_words(arena, "#c, #c, the median at #0 %.", students, "student", submissions,
                    "submission", marked->median_percent);
}

platelag_status platelag_class_write_text(const platelag_class *marked,
                                          const platelag_report_options *options,
                                          const platelag_sink *sink, platelag_error *error) {
  plag_sheet s = {.width = options != NULL && options->width > 0 ? (size_t)options->width
                                                                 : DEFAULT_WIDTH,
                  .color = options != NULL && options->color};
  head(&s, "MARKS");
  say(&s, 0, summary_of(marked, &s.arena));
  plag_text_add(&s.out, "\n");
  for (size_t i = 0; i < marked->submission_count; i++)
    add_submission(&s, &marked->submission[i]);
  add_likenesses(&s, marked);
  add_remarks(&s, marked);
  platelag_status status = s.out.failed ? plag_error_memory(error, "the marks") : PLATELAG_OK;
  if (status == PLATELAG_OK)
    status = sink->write(sink->context, s.out.bytes, s.out.length, error);
  plag_sheet_clear(&s);
  return status;
}
