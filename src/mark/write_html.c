/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The instructor's page: what is to be taught next first, then each submission. */
#include "core/error.h"
#include "core/html_page.h"
#include "mark/html_class.h"

static void add_page(plag_text *out, const platelag_class *marked) {
  const plag_tally tally = plag_tally_take(marked);
  plag_html_head_begin(out, &plag_asset_class_policy);
  plag_text_add(out, "Class marks - ");
  plag_mark_count_add(out, marked->student_count, "student");
  plag_html_head_end(out, &plag_asset_class_style, NULL);
  plag_text_add(out, "<header><h1>Class marks</h1></header>\n<main>\n");
  plag_mark_overview_add(out, marked, &tally);
  plag_mark_criteria_add(out, &tally);
  plag_mark_table_add(out, marked, &tally);
  plag_mark_likenesses_add(out, marked);
  plag_mark_unmarked_add(out, marked);
  plag_mark_remarks_add(out, marked);
  plag_mark_details_add(out, marked);
  plag_text_add(out, "</main>\n<script>");
  plag_html_asset_add(out, &plag_asset_class_script);
  plag_text_add(out, "</script>\n");
  plag_mark_footer_add(out, "Marks by rule from a key and a rubric: a help to the instructor, who "
                            "decides.");
}

platelag_status platelag_class_write_html(const platelag_class *marked, const platelag_sink *sink,
                                          platelag_error *error) {
  plag_text out = {0};
  add_page(&out, marked);
  const platelag_status status = out.failed
                                     ? plag_error_memory(error, "the page")
                                     : sink->write(sink->context, out.bytes, out.length, error);
  plag_text_clear(&out);
  return status;
}
