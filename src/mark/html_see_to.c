/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The instructor's page: what a person is to see to. Recordings that are alike, what was not
 * marked, remarks. */
#include <math.h>

#include "mark/html_class.h"

enum { COLUMNS_MOST = 7 };

/* A table of these columns; NULL for no more. */
static void begin_table(plag_text *out, const char *column[COLUMNS_MOST]) {
  plag_text_add(out, "<div class=\"table\" tabindex=\"0\"><table class=\"told\">\n<thead><tr>");
  for (size_t i = 0; i < COLUMNS_MOST && column[i] != NULL; i++)
    plag_text_add_format(out, "<th scope=\"col\">%s</th>", column[i]);
  plag_text_add(out, "</tr></thead>\n<tbody>\n");
}

static void end_table(plag_text *out) {
  plag_text_add(out, "</tbody></table></div></section>\n");
}

static void add_recording(plag_text *out, const platelag_class *marked, size_t submission,
                          const char *file) {
  plag_text_add(out, "<td>");
  plag_mark_link_add(out, marked, submission);
  plag_text_add(out, "<br>");
  plag_mark_element_add(out, "span", "file", file);
  plag_text_add(out, "</td>");
}

/* "1.00 over 2679 readings". */
static void add_agreement(plag_text *out, const platelag_likeness *one) {
  plag_text_add(out, "<td>");
  plag_text_add_number(out, one->correlation, 2);
  plag_text_add_format(out, " over %zu readings</td>", one->samples);
}

static void add_share(plag_text *out, const platelag_likeness *one) {
  plag_text_add(out, "<td>");
  plag_text_add_number(out, 100 * one->share, 0);
  plag_text_add(out, " % of the shorter one</td><td>");
  if (isfinite(one->shift_s)) {
    plag_text_add_number(out, one->shift_s, 1);
    plag_text_add(out, " s");
  }
  plag_text_add(out, "</td><td>");
  if (isfinite(one->scale))
    plag_text_add_number(out, one->scale, 3);
  plag_text_add(out, "</td></tr>\n");
}

void plag_mark_likenesses_add(plag_text *out, const platelag_class *marked) {
  const char *columns[COLUMNS_MOST] = {"One recording",   "The other",
                                       "What is seen",    "The noise agrees",
                                       "Readings shared", "The other begins later by",
                                       "Its scale"};
  if (marked->likeness_count == 0)
    return;
  plag_text_add(
      out,
      "<section aria-labelledby=\"alike\"><h2 id=\"alike\">Recordings that are alike, for a person "
      "to judge</h2>\n<p>This is never a verdict. Two recordings of one vehicle may show the same "
      "drive; their noise, what is left of the readings when the moves are taken out, is each "
      "one's own. Here it agrees: 0 is none and 1 is the same, and from 0.2 on, in readings "
      "enough, it is beyond chance. Students may have shared one recorder, been given one file, or "
      "mixed up their files. Hear both before you conclude anything. No points were taken.</p>\n");
  begin_table(out, columns);
  for (size_t i = 0; i < marked->likeness_count; i++) {
    const platelag_likeness *one = &marked->likeness[i];
    plag_text_add(out, "<tr>");
    add_recording(out, marked, one->one, one->file_one);
    add_recording(out, marked, one->other, one->file_other);
    plag_mark_element_add(out, "td", NULL, one->what);
    add_agreement(out, one);
    add_share(out, one);
  }
  end_table(out);
}

static void add_whose(plag_text *out, const platelag_class *marked, size_t submission) {
  plag_text_add(out, "<tr><th scope=\"row\">");
  plag_mark_link_add(out, marked, submission);
  plag_text_add(out, "</th>");
  plag_mark_element_add(out, "td", NULL, marked->submission[submission].vehicle);
}

void plag_mark_unmarked_add(plag_text *out, const platelag_class *marked) {
  const char *columns[COLUMNS_MOST] = {"Student", "Vehicle", "Why", "Files", "Line of the answers"};
  bool begun = false;
  for (size_t i = 0; i < marked->submission_count; i++) {
    const platelag_submission *one = &marked->submission[i];
    if (one->marked)
      continue;
    if (!begun) {
      plag_text_add(out, "<section aria-labelledby=\"unmarked\"><h2 id=\"unmarked\">Not marked"
                         "</h2>\n<p>These count in no figure of this page.</p>\n");
      begin_table(out, columns);
    }
    begun = true;
    add_whose(out, marked, i);
    plag_text_add(out, "<td>");
    plag_mark_sentence_add(out, one->problem);
    plag_text_add(out, "</td>");
    plag_mark_element_add(out, "td", "file", one->files);
    plag_text_add_format(out, "<td>%lld</td></tr>\n", (long long)one->line);
  }
  if (begun)
    end_table(out);
}

void plag_mark_remarks_add(plag_text *out, const platelag_class *marked) {
  const char *columns[COLUMNS_MOST] = {"Student", "Vehicle", "Remark"};
  bool begun = false;
  for (size_t i = 0; i < marked->submission_count; i++)
    for (size_t k = 0; k < marked->submission[i].remark_count; k++) {
      if (!begun) {
        plag_text_add(out, "<section aria-labelledby=\"remarks\"><h2 id=\"remarks\">Remarks for "
                           "you</h2>\n<p>No student's page has them.</p>\n");
        begin_table(out, columns);
      }
      begun = true;
      add_whose(out, marked, i);
      plag_text_add(out, "<td>");
      plag_html_name_add(out, marked->submission[i].remark[k]);
      plag_text_add(out, "</td></tr>\n");
    }
  if (begun)
    end_table(out);
}
