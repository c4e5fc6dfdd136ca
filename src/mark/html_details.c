/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The instructor's page: each submission with every mark, its reason and what was advised. */
#include <math.h>

#include "mark/html_answer.h"
#include "mark/html_class.h"
#include "mark/sheet.h"

static void add_summary(plag_text *out, const platelag_submission *one) {
  const size_t worst = plag_dearest(one);
  plag_text_add(out, "<summary>");
  plag_mark_element_add(out, "b", NULL, one->student);
  plag_text_add(out, " ");
  plag_mark_element_add(out, "span", "vehicle", one->vehicle);
  if (!one->marked) {
    plag_text_add(out, " <span class=\"how\">not marked</span></summary>\n");
    return;
  }
  plag_text_add(out, " <span class=\"how\">");
  if (isfinite(one->percent)) {
    plag_text_add_number(out, one->percent, 0);
    plag_text_add(out, " %");
  }
  if (worst < PLATELAG_CRITERIA) {
    plag_text_add(out, ", most lost by ");
    plag_html_text_add(out, platelag_criterion_title(worst));
  }
  plag_text_add(out, "</span></summary>\n");
}

static void add_pair(plag_text *out, const char *what, const char *text) {
  if (text[0] == '\0')
    return;
  plag_text_add_format(out, "<p><b>%s:</b> ", what);
  plag_html_name_add(out, text);
  plag_text_add(out, "</p>\n");
}

static void add_mark(plag_text *out, size_t criterion, const platelag_mark *mark) {
  plag_text_add(out, "<tr><th scope=\"row\">");
  plag_mark_title_add(out, criterion);
  plag_text_add(out, "</th><td class=\"number\">");
  plag_mark_points_of_add(out, mark->points, mark->of);
  plag_text_add(out, "</td><td class=\"share\">");
  plag_mark_bar_add(out, mark->of > 0 ? mark->points / mark->of : 0);
  plag_text_add(out, "</td><td>");
  plag_mark_sentence_add(out, mark->reason);
  plag_text_add(out, "</td><td>");
  plag_mark_sentence_add(out, mark->advice);
  plag_text_add(out, "</td></tr>\n");
}

static void add_marks(plag_text *out, const platelag_submission *one) {
  plag_text_add(out, "<div class=\"table\" tabindex=\"0\"><table><thead><tr>");
  plag_text_add(out, "<th scope=\"col\">Criterion</th><th scope=\"col\" colspan=\"2\">Points</th>"
                     "<th scope=\"col\">Reason</th><th scope=\"col\">Advice "
                     "to the student</th></tr></thead>\n<tbody>\n");
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    if (one->mark[i].applies)
      add_mark(out, i, &one->mark[i]);
  plag_text_add(out, "</tbody></table></div>\n");
}

static void add_for_you(plag_text *out, const platelag_class *marked, size_t submission) {
  const platelag_submission *one = &marked->submission[submission];
  plag_text alike = {0};
  plag_sheet_add_likenesses(&alike, marked, submission);
  if (alike.length > 0)
    add_pair(out, "Likeness, for a person to judge", alike.bytes);
  out->failed = out->failed || alike.failed;
  plag_text_clear(&alike);
  for (size_t i = 0; i < one->remark_count; i++)
    add_pair(out, "Remark for you", one->remark[i]);
}

static void add_submission(plag_text *out, const platelag_class *marked, size_t submission) {
  const platelag_submission *one = &marked->submission[submission];
  plag_text_add(out, "<details>");
  add_summary(out, one);
  plag_text_add_format(out, "<div id=\"s%zu\" class=\"inside\">\n", submission);
  if (one->marked)
    add_pair(out, "The recordings show", one->sentence);
  else
    add_pair(out, "Not marked", one->problem);
  plag_mark_answer_add(out, marked, submission, "The student concluded");
  add_for_you(out, marked, submission);
  if (one->marked)
    add_marks(out, one);
  add_pair(out, "Files", one->files);
  plag_text_add_format(out, "<p><b>Answers:</b> from line %lld</p>\n</div></details>\n",
                       (long long)one->line);
}

void plag_mark_details_add(plag_text *out, const platelag_class *marked) {
  if (marked->submission_count == 0)
    return;
  plag_text_add(out, "<section class=\"long each\" aria-labelledby=\"each\"><h2 id=\"each\">Each "
                     "submission</h2>\n");
  for (size_t i = 0; i < marked->submission_count; i++)
    add_submission(out, marked, i);
  plag_text_add(out, "</section>\n");
}
