/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A student's page: what was good, what would make the next recording better, and what to do first.
 * It reads this student's submissions alone; remarks and likenesses are the instructor's. */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/escape.h"
#include "core/html_page.h"
#include "mark/advice.h"
#include "mark/book.h"
#include "mark/html_answer.h"
#include "mark/tally.h"

/* Titles are an instructor's; this one speaks of the student. */
static void add_title(plag_text *out, size_t criterion) {
  plag_text_add(out, "<b>");
  if (criterion == PLAG_CRITERION_PROBABILITY)
    plag_text_add(out, "How sure you were");
  else
    plag_mark_title_add(out, criterion);
  plag_text_add(out, "</b>");
}

static void add_result(plag_text *out, const platelag_submission *one) {
  plag_text_add(out, "<p class=\"result\"><b>");
  plag_text_add_number(out, one->percent, 0);
  plag_text_add(out, " %</b> <span>");
  plag_mark_points_of_add(out, one->points, one->of);
  plag_text_add(out, " points</span></p>\n");
  plag_mark_bar_add(out, one->percent / 100);
}

static void add_facts(plag_text *out, const platelag_class *marked, size_t submission) {
  const platelag_submission *one = &marked->submission[submission];
  plag_text_add(out, "<div class=\"facts\">\n<p><b>You recorded:</b> ");
  plag_html_name_add(out, one->files);
  plag_text_add(out, "</p>\n");
  plag_mark_answer_add(out, marked, submission, "You concluded");
  if (one->sentence[0] != '\0') {
    plag_text_add(out, "<p><b>Your recording shows:</b> ");
    plag_mark_sentence_add(out, one->sentence);
    plag_text_add(out, "</p>\n");
  }
  plag_text_add(out, "</div>\n");
}

static void add_good(plag_text *out, const platelag_submission *one) {
  bool any = false;
  plag_text_add(out, "<h3><svg class=\"mark good\" viewBox=\"0 0 24 24\" aria-hidden=\"true\">");
  plag_text_add(out, plag_html_mark_good);
  plag_text_add(out, "</svg>What was good</h3>\n");
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    const platelag_mark *mark = &one->mark[i];
    if (!mark->applies || !plag_is_full(mark))
      continue;
    plag_text_add(out, any ? "" : "<ul class=\"good\">\n");
    any = true;
    plag_text_add(out, "<li>");
    add_title(out, i);
    plag_text_add(out, ": ");
    plag_html_name_add(out, mark->reason);
    plag_text_add(out, ".</li>\n");
  }
  plag_text_add(out, any ? "</ul>\n"
                         : "<p>You brought a recording that can be read, which is where every "
                           "diagnosis begins.</p>\n");
}

/* The criterion not yet `done` that has most to gain; false when there is no more. */
static bool next_gain(const platelag_submission *one, bool done[PLATELAG_CRITERIA], size_t *at) {
  double most = -1;
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    const platelag_mark *mark = &one->mark[i];
    const double gain = mark->of - mark->points;
    if (!done[i] && mark->applies && !plag_is_full(mark) && gain > most) {
      most = gain;
      *at = i;
    }
  }
  if (most < 0)
    return false;
  done[*at] = true;
  return true;
}

static void add_gain(plag_text *out, size_t criterion, const platelag_mark *mark) {
  plag_text_add(out, "<li>");
  add_title(out, criterion);
  plag_text_add(out, " <span class=\"points\">");
  plag_mark_points_of_add(out, mark->points, mark->of);
  plag_text_add(out, " points</span><br>");
  plag_mark_sentence_add(out, mark->reason);
  if (mark->advice[0] != '\0') {
    plag_text_add(out, " <span class=\"advice\">");
    plag_mark_sentence_add(out, mark->advice);
    plag_text_add(out, "</span>");
  }
  plag_text_add(out, "</li>\n");
}

static void add_gains(plag_text *out, const platelag_submission *one) {
  bool done[PLATELAG_CRITERIA] = {false};
  size_t at = 0;
  bool any = false;
  while (next_gain(one, done, &at)) {
    if (!any)
      plag_text_add(out, "<h3>What would earn more</h3>\n<ul class=\"gains\">\n");
    any = true;
    add_gain(out, at, &one->mark[at]);
  }
  plag_text_add(out, any ? "</ul>\n" : "");
}

static void add_submission(plag_text *out, const platelag_class *marked, size_t submission) {
  const platelag_submission *one = &marked->submission[submission];
  plag_text_add_format(out, "<section aria-labelledby=\"v%zu\"><h2 id=\"v%zu\">", submission,
                       submission);
  plag_html_name_add(out, one->vehicle[0] != '\0' ? one->vehicle : "A vehicle without a name");
  plag_text_add(out, "</h2>\n");
  if (!one->marked) {
    plag_text_add(out, "<p>This part has no marks yet: ");
    plag_html_name_add(out, one->problem);
    plag_text_add(out, ". Talk to your instructor; it can be handed in again.</p>\n</section>\n");
    return;
  }
  if (isfinite(one->percent))
    add_result(out, one);
  add_facts(out, marked, submission);
  add_good(out, one);
  add_gains(out, one);
  plag_text_add(out, "</section>\n");
}

static void add_next_time(plag_text *out, const platelag_class *marked, size_t from, size_t to) {
  plag_advice advice[PLAG_ADVICE_MOST];
  const size_t count = plag_advice_best(marked, from, to, advice);
  bool any_marked = false;
  for (size_t i = from; i < to; i++)
    any_marked = any_marked || marked->submission[i].marked;
  if (!any_marked)
    return;
  plag_text_add(out, "<section class=\"next\" aria-labelledby=\"next\"><h2 id=\"next\">Next time"
                     "</h2>\n");
  if (count == 0)
    plag_text_add(out, "<p>Nothing to add: do it this way again.</p>\n");
  else
    plag_text_add(out, "<ol>\n");
  for (size_t i = 0; i < count; i++) {
    plag_text_add(out, "<li>");
    plag_mark_sentence_add(out, advice[i].text);
    plag_text_add(out, " <span class=\"points\">");
    plag_html_text_add(out, platelag_criterion_title(advice[i].criterion));
    if (to - from > 1) {
      plag_text_add(out, ", ");
      plag_html_name_add(out, advice[i].vehicle);
    }
    plag_text_add(out, "; up to ");
    plag_mark_points_add(out, advice[i].points);
    plag_text_add(out, " points</span></li>\n");
  }
  plag_text_add(out, count > 0 ? "</ol>\n</section>\n" : "</section>\n");
}

/* A title takes no elements, not even those that hold words written from right to left. */
static void add_plain(plag_text *out, const char *name) {
  plag_text clean = {0};
  plag_escape_add(&clean, name);
  plag_html_text_add(out, clean.bytes != NULL ? clean.bytes : "");
  out->failed = out->failed || clean.failed;
  plag_text_clear(&clean);
}

static void add_page(plag_text *out, const platelag_class *marked, size_t from, size_t to) {
  const char *student = marked->submission[from].student;
  plag_html_head_begin(out, &plag_asset_student_policy);
  plag_text_add(out, "Feedback for ");
  add_plain(out, student);
  plag_html_head_end(out, &plag_asset_student_style, NULL);
  plag_text_add(out, "<header><h1>Feedback on your recording and conclusion</h1><p class=\"who\">");
  plag_html_name_add(out, student);
  plag_text_add(out, "</p></header>\n<main>\n");
  for (size_t i = from; i < to; i++)
    add_submission(out, marked, i);
  add_next_time(out, marked, from, to);
  plag_text_add(out, "</main>\n");
  plag_mark_footer_add(out, "Marks by rule from a key and a rubric. Your instructor decides; ask "
                            "where you see it otherwise.");
}

platelag_status platelag_class_write_student(const platelag_class *marked, size_t submission,
                                             const platelag_sink *sink, platelag_error *error) {
  const char *student = marked->submission[submission].student;
  size_t to = submission;
  plag_text out = {0};
  while (to < marked->submission_count && strcmp(marked->submission[to].student, student) == 0)
    to++;
  add_page(&out, marked, submission, to);
  const platelag_status status = out.failed
                                     ? plag_error_memory(error, "the page")
                                     : sink->write(sink->context, out.bytes, out.length, error);
  plag_text_clear(&out);
  return status;
}
