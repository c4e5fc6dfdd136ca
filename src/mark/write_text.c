/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A class at a glance, for a terminal. */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/escape.h"
#include "core/words.h"
#include "core/wrap.h"
#include "mark/sheet.h"
#include "mark/tally.h"

enum { DEFAULT_WIDTH = 100, NAME_WIDTH = 24, VEHICLE_WIDTH = 14 };

typedef struct sheet {
  plag_text out;
  size_t width;
  bool color;
  plag_arena arena;
} sheet;

static void head(sheet *s, const char *text) {
  plag_text_add(&s->out, s->color ? "\033[1m" : "");
  plag_text_add(&s->out, text);
  plag_text_add(&s->out, s->color ? "\033[0m\n" : "\n");
}

static void say(sheet *s, size_t indent, const char *sentence) {
  plag_text clean = {0};
  plag_escape_add(&clean, sentence != NULL ? sentence : "");
  plag_wrap_add_blanks(&s->out, indent);
  plag_wrap_add(&s->out, clean.bytes != NULL ? clean.bytes : "", s->width, indent, indent + 2);
  s->out.failed = s->out.failed || clean.failed || sentence == NULL;
  plag_text_clear(&clean);
  plag_arena_clear(&s->arena);
}

/* Filled up to a width; longer names push the rest on. */
static void add_padded(sheet *s, const char *text, size_t width) {
  plag_text clean = {0};
  plag_escape_add(&clean, text);
  const size_t is = clean.bytes != NULL ? plag_utf8_width(clean.bytes, clean.length) : 0;
  plag_text_add(&s->out, clean.bytes != NULL ? clean.bytes : "");
  plag_wrap_add_blanks(&s->out, is < width ? width - is + 1 : 1);
  s->out.failed = s->out.failed || clean.failed;
  plag_text_clear(&clean);
}

static void add_submission(sheet *s, const platelag_submission *one) {
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

static void add_likenesses(sheet *s, const platelag_class *marked) {
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

static void add_remarks(sheet *s, const platelag_class *marked) {
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

platelag_status platelag_class_write_text(const platelag_class *marked,
                                          const platelag_report_options *options,
                                          const platelag_sink *sink, platelag_error *error) {
  sheet s = {.width =
                 options != NULL && options->width > 0 ? (size_t)options->width : DEFAULT_WIDTH,
             .color = options != NULL && options->color};
  head(&s, "MARKS");
  say(&s, 0,
      isfinite(marked->median_percent)
          ? plag_words(&s.arena, "#c, #c, half of them above #0 %.", (double)marked->student_count,
                       "student", (double)marked->submission_count, "submission",
                       marked->median_percent)
          : plag_words(&s.arena, "#c, none could be marked.", (double)marked->submission_count,
                       "submission"));
  plag_text_add(&s.out, "\n");
  for (size_t i = 0; i < marked->submission_count; i++)
    add_submission(&s, &marked->submission[i]);
  add_likenesses(&s, marked);
  add_remarks(&s, marked);
  platelag_status status = s.out.failed ? plag_error_memory(error, "the marks") : PLATELAG_OK;
  if (status == PLATELAG_OK)
    status = sink->write(sink->context, s.out.bytes, s.out.length, error);
  plag_text_clear(&s.out);
  plag_arena_clear(&s.arena);
  return status;
}
