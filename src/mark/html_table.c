/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The instructor's page: all submissions, a row each, with the points by criterion. */
#include <math.h>

#include "mark/html_class.h"

/* Criteria that count in any submission, in the rubric's order. */
static bool counts(const plag_tally *tally, size_t criterion) {
  for (size_t i = 0; i < tally->criterion_count; i++)
    if (tally->criterion[i].criterion == criterion)
      return true;
  return false;
}

void plag_mark_link_add(plag_text *out, const platelag_class *marked, size_t submission) {
  plag_text_add_format(out, "<a href=\"#s%zu\">", submission);
  plag_html_name_add(out, marked->submission[submission].student);
  plag_text_add(out, "</a>");
}

static void add_head(plag_text *out, const plag_tally *tally) {
  plag_text_add(out, "<thead><tr><th scope=\"col\" data-sort=\"text\">Student</th>"
                     "<th scope=\"col\" data-sort=\"text\">Vehicle</th>"
                     "<th scope=\"col\" data-sort=\"number\" class=\"number\">Percent</th>"
                     "<th scope=\"col\" data-sort=\"number\" class=\"number\">Points</th>");
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    if (!counts(tally, i))
      continue;
    plag_text_add(out, "<th scope=\"col\" data-sort=\"number\" class=\"upright\"><span>");
    plag_mark_title_add(out, i);
    plag_text_add(out, "</span></th>");
  }
  plag_text_add(out, "<th scope=\"col\" data-sort=\"text\">Recordings show</th>"
                     "<th scope=\"col\" data-sort=\"text\">To be seen to</th></tr></thead>\n");
}

static void add_value(plag_text *out, double value) {
  plag_text_add(out, " data-value=\"");
  plag_text_add_number(out, value, 4);
  plag_text_add(out, "\"");
}

static void add_percent(plag_text *out, const platelag_submission *one) {
  if (!one->marked || isnan(one->percent)) {
    plag_text_add(out, "<td class=\"number\">-</td><td class=\"number\">-</td>");
    return;
  }
  plag_text_add(out, "<td");
  plag_mark_cell_class_add(out, "number whole", one->percent / 100);
  add_value(out, one->percent);
  plag_text_add(out, ">");
  plag_text_add_number(out, one->percent, 0);
  plag_text_add(out, " %</td><td class=\"number\"");
  add_value(out, one->points);
  plag_text_add(out, ">");
  plag_mark_points_of_add(out, one->points, one->of);
  plag_text_add(out, "</td>");
}

static void add_mark(plag_text *out, const platelag_mark *mark) {
  if (!mark->applies) {
    plag_text_add(out, "<td class=\"mark-cell\"></td>");
    return;
  }
  plag_text_add(out, "<td");
  plag_mark_cell_class_add(out, "mark-cell", mark->points / mark->of);
  add_value(out, mark->points);
  plag_text_add(out, ">");
  plag_mark_points_add(out, mark->points);
  plag_text_add(out, "</td>");
}

static size_t likenesses_of(const platelag_class *marked, size_t submission) {
  size_t count = 0;
  for (size_t i = 0; i < marked->likeness_count; i++)
    count += marked->likeness[i].one == submission || marked->likeness[i].other == submission;
  return count;
}

static void add_to_see_to(plag_text *out, const platelag_class *marked, size_t submission) {
  const platelag_submission *one = &marked->submission[submission];
  const bool alike = likenesses_of(marked, submission) > 0;
  plag_text_add(out, "<td>");
  if (!one->marked)
    plag_text_add(out, "not marked");
  if (alike)
    plag_text_add(out, one->marked ? "alike" : ", alike");
  if (one->remark_count > 0) {
    plag_text_add(out, alike || !one->marked ? ", " : "");
    plag_mark_count_add(out, one->remark_count, "remark");
  }
  plag_text_add(out, "</td></tr>\n");
}

static void add_row(plag_text *out, const platelag_class *marked, const plag_tally *tally,
                    size_t submission) {
  const platelag_submission *one = &marked->submission[submission];
  plag_text_add(out, "<tr><th scope=\"row\">");
  plag_mark_link_add(out, marked, submission);
  plag_text_add(out, "</th>");
  plag_mark_element_add(out, "td", "vehicle", one->vehicle);
  add_percent(out, one);
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    if (counts(tally, i))
      add_mark(out, &one->mark[i]);
  plag_text_add(out, "<td class=\"shown\">");
  if (one->marked)
    plag_mark_key_add(out, platelag_finding_name(one->found));
  plag_text_add(out, "</td>");
  add_to_see_to(out, marked, submission);
}

void plag_mark_table_add(plag_text *out, const platelag_class *marked, const plag_tally *tally) {
  plag_text_add(out,
                "<section class=\"long\" aria-labelledby=\"submissions\">"
                "<h2 id=\"submissions\">Submissions</h2>\n<p class=\"hint\">A name leads to "
                "every mark with its reason. The line below a number is its share of the "
                "points.</p>\n<div class=\"table\" tabindex=\"0\"><table class=\"submissions\">\n");
  add_head(out, tally);
  plag_text_add(out, "<tbody>\n");
  for (size_t i = 0; i < marked->submission_count; i++)
    add_row(out, marked, tally, i);
  plag_text_add(out, "</tbody></table></div></section>\n");
}
