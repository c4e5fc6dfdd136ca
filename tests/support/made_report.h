/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reviews put together by hand, for tests of the reports: one valve, a capture or two, with the fit
 * that a test wants. */
#ifndef PLATELAG_TESTS_MADE_REPORT_H
#define PLATELAG_TESTS_MADE_REPORT_H

#include "core/text.h"
#include "platelag/report.h"
#include "support/made_fit.h"

enum { PLAG_TEST_CAPTURES = 2 };

typedef struct plag_test_report {
  plag_test_record record[PLAG_TEST_CAPTURES]; /* change before plag_test_report_judge */
  platelag_channel position;
  platelag_capture *capture;
  platelag_finding *finding[PLAG_TEST_CAPTURES];
  platelag_case *judged;
  const platelag_case *cases[1];
  platelag_review_valve valve[PLAG_TEST_CAPTURES];
  platelag_review_capture captures[PLAG_TEST_CAPTURES + 1];
  platelag_review review;
} plag_test_report;

/* Healthy records; the second is that of a capture after the repair. */
void plag_test_report_prepare(plag_test_report *made);
/* Judges the first `count` records. */
void plag_test_report_judge(plag_test_report *made, size_t count);
void plag_test_report_clear(plag_test_report *made);

/* The report, terminated, in `out`; the test fails where it cannot be written. */
void plag_test_report_text(const plag_test_report *made, const platelag_report_options *options,
                           plag_text *out);
void plag_test_report_json(const plag_test_report *made, plag_text *out);

/* A sink that fills a plag_text. */
platelag_sink plag_test_text_sink(plag_text *out);

/* A sink that refuses every byte, the disk being full, and one that takes all and keeps nothing. */
platelag_sink plag_test_full_sink(void);
platelag_sink plag_test_swallowing_sink(void);

#endif
