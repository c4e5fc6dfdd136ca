/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/html_answer.h"

#include <math.h>

#include "mark/book.h"

static void part(plag_text *out, bool *any) {
  plag_text_add(out, *any ? ", " : "");
  *any = true;
}

static void add_said(plag_text *out, const plag_answer *said) {
  bool any = false;
  if (said->finding_given) {
    part(out, &any);
    plag_mark_key_add(out, said->finding == PLATELAG_FINDING_UNDECIDED
                               ? "cannot tell"
                               : platelag_finding_name(said->finding));
  }
  if (said->family_given) {
    part(out, &any);
    plag_text_add(out, "place of the fault ");
    plag_mark_key_add(out, said->family == PLATELAG_FAMILY_UNDECIDED
                               ? "open"
                               : platelag_family_name(said->family));
  }
  if (!isnan(said->probability)) {
    part(out, &any);
    plag_text_add_number(out, 100 * said->probability, 0);
    plag_text_add(out, " % sure");
  }
  if (said->verdict_given) {
    part(out, &any);
    plag_text_add(out, "stored code ");
    plag_mark_key_add(out, platelag_code_verdict_name(said->verdict));
  }
  if (said->test != NULL) {
    part(out, &any);
    plag_text_add(out, "next test ");
    plag_mark_key_add(out, said->test);
  }
  for (size_t i = 0; i < PLAG_MEASURED; i++) {
    if (isnan(said->figure[i]))
      continue;
    part(out, &any);
    plag_text_add_format(out, "%s ", plag_measured_name[i]);
    plag_text_add_number(out, said->figure[i], 2);
    plag_text_add_format(out, " %s", plag_measured_unit[i]);
  }
}

void plag_mark_answer_add(plag_text *out, const platelag_class *marked, size_t submission,
                          const char *what) {
  plag_text said = {0};
  add_said(&said, &marked->book->entry[submission].answer);
  if (said.length > 0)
    plag_text_add_format(out, "<p><b>%s:</b> %s</p>\n", what, said.bytes);
  out->failed = out->failed || said.failed;
  plag_text_clear(&said);
}
