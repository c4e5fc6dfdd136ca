/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A class at a glance says how it did only where there is a whole to speak of: no median of one
 * submission, nor of none. */
#include "support/check.h"

#include <string.h>

#include "core/text.h"
#include "support/made_marks.h"

static platelag_status keep(void *context, const char *bytes, size_t size, platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

static void the_first_sentence_fits_the_class(void **state) {
  (void)state;
  static const struct {
    size_t students, submissions;
    const char *expected; /* the third of the made submissions is not marked */
  } rows[] = {{3, 4, "MARKS\n3 students, 4 submissions, the median at 96 %.\n\n"},
              {2, 2, "MARKS\n2 students, 2 submissions, the median at 96 %.\n\n"},
              {1, 1, "MARKS\n1 student, 1 submission.\n\n"},
              {0, 0, "MARKS\n0 submissions, none could be marked.\n\n"}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    plag_test_marks made;
    plag_text out = {0};
    const platelag_sink sink = {.context = &out, .write = keep};
    platelag_error error = {0};
    plag_test_marks_make(&made);
    made.book.marked.student_count = rows[i].students;
    made.book.marked.submission_count = rows[i].submissions;
    made.book.marked.likeness_count = 0;
    assert_int_equal(platelag_class_write_text(&made.book.marked, NULL, &sink, &error),
                     PLATELAG_OK);
    if (strncmp(out.bytes, rows[i].expected, strlen(rows[i].expected)) != 0)
      fail_msg("row %zu says \"%s\"", i, out.bytes);
    plag_text_clear(&out);
    plag_test_marks_clear(&made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(the_first_sentence_fits_the_class)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
