/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A marked class put together by hand, for tests of what is written of it: three students with four
 * submissions, one of them not marked, names that would be markup, a remark and a likeness. */
#ifndef PLATELAG_TESTS_MADE_MARKS_H
#define PLATELAG_TESTS_MADE_MARKS_H

#include "mark/book.h"

enum { PLAG_TEST_SUBMISSIONS = 4 };

/* Names of the students, in their order; the second has two submissions. */
#define PLAG_TEST_FIRST  "Aster <b>Quill</b> & \"co\""
#define PLAG_TEST_SECOND "Bramble \xe2\x80\xaeVetch"
#define PLAG_TEST_THIRD  "Clover\x1b[31m Wort"

typedef struct plag_test_marks {
  platelag_rubric *rubric;
  plag_entry entry[PLAG_TEST_SUBMISSIONS];
  platelag_submission submission[PLAG_TEST_SUBMISSIONS];
  platelag_likeness likeness[1];
  plag_class_book book;
} plag_test_marks;

/* `made->book.marked` is the class. The caller clears it. */
void plag_test_marks_make(plag_test_marks *made);
void plag_test_marks_clear(plag_test_marks *made);

#endif
