/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The instructor's page tells all that the class holds, a student's page what is the student's and
 * nothing else; no name becomes markup; both are the same to the byte and tell when memory or the
 * sink gives out. */
#include "support/check.h"

#include <string.h>

#include "support/failing_memory.h"
#include "support/made_marks.h"
#include "support/made_report.h"

/* The submission that begins each student's page; the instructor's page comes first. */
enum { INSTRUCTOR = -1 };

static platelag_status write_page(const plag_test_marks *made, int page, const platelag_sink *sink,
                                  platelag_error *error) {
  return page == INSTRUCTOR
             ? platelag_class_write_html(&made->book.marked, sink, error)
             : platelag_class_write_student(&made->book.marked, (size_t)page, sink, error);
}

static void page_of(const plag_test_marks *made, int page, plag_text *out) {
  const platelag_sink sink = plag_test_text_sink(out);
  platelag_error error = {0};
  assert_int_equal(write_page(made, page, &sink, &error), PLATELAG_OK);
  assert_non_null(out->bytes);
}

static const struct {
  int page;
  const char *text;
  bool is_there;
} told[] = {
    /* names as text */
    {INSTRUCTOR, "Aster &lt;b&gt;Quill&lt;/b&gt; &amp; &quot;co&quot;", true},
    {INSTRUCTOR, "<b>Quill", false},
    {INSTRUCTOR, "Bramble \xef\xbf\xbdVetch", true},
    {INSTRUCTOR, "\xe2\x80\xae", false},
    {INSTRUCTOR, "\x1b", false},
    {INSTRUCTOR, "loader &lt;i&gt;17&lt;/i&gt;", true},
    {INSTRUCTOR, "quill&#39;.csv", true},
    /* all that the class holds */
    {INSTRUCTOR, "<title>Class marks - 3 students</title>", true},
    {INSTRUCTOR, "median 96 %", true},
    {INSTRUCTOR, "2.3 minutes, asked for 4.0", true},
    {INSTRUCTOR, "1.7 more minutes would do.", true},
    {INSTRUCTOR, "thimbleweed", true},
    {INSTRUCTOR, "for a person to judge", true},
    {INSTRUCTOR, "never a verdict", true},
    {INSTRUCTOR, "0.87 over 2385 readings", true},
    {INSTRUCTOR, "91 % of the shorter one", true},
    {INSTRUCTOR, "38.5 s", true},
    {INSTRUCTOR, "1.023", true},
    {INSTRUCTOR, "the same readings, twinned", true},
    {INSTRUCTOR, "No recording was handed in.", true},
    {INSTRUCTOR, "<td>385</td>", true},
    {INSTRUCTOR,
     "sticking, place of the fault open, 83 % sure, next test hand sweep, opening t63 "
     "0.39 s",
     true},
    {INSTRUCTOR, "first: <b>the finding</b>, <b>where the fault lies</b>, <b>length", true},
    /* the first student: what is his */
    {0, "Aster &lt;b&gt;Quill&lt;/b&gt; &amp; &quot;co&quot;", true},
    {0, "98 %", false}, /* 42.3 of 44 are 96 */
    {0, "96 %", true},
    {0, "42.3 of 44 points", true},
    {0, "stick band 23.85 % of travel", true},
    {0, "1.7 more minutes would do.", true},
    {0, "up to 1.7 points", true},
    {0, "<script", false},
    /* nothing that is the instructor's or another's */
    {0, "thimbleweed", false},
    {0, "alike", false},
    {0, "ikeness", false},
    {0, "twinned", false},
    {0, "emark", false},
    {0, "median", false},
    {0, "Vetch", false},
    {0, "Wort", false},
    {0, "wort.csv", false},
    {0, "loader 23", false},
    /* the second: both submissions, one of them not marked */
    {1, "loader 23", true},
    {1, "loader 38", true},
    {1, "This part has no marks yet: no recording was handed in.", true},
    {1, "The vehicle has slow plates.", true},
    {1, "Go through the report. <span class=\"points\">the finding, loader 23; up to 36.5 points",
     true},
    {1, "Quill", false},
    {1, "Wort", false},
    /* the third: nothing is left to say */
    {3, "Clover\xef\xbf\xbd[31m Wort", true},
    {3, "Nothing to add: do it this way again.", true},
    {3, "What would earn more", false},
    {3, "Quill", false},
    {3, "twinned", false},
};

static void each_page_tells_its_own(void **state) {
  (void)state;
  plag_test_marks made;
  plag_test_marks_make(&made);
  for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
    plag_text out = {0};
    page_of(&made, told[i].page, &out);
    /* The style and the script are no words of the page. */
    const char *body = strstr(out.bytes, "<title>");
    const bool in_head = strncmp(told[i].text, "<title>", 7) == 0;
    const bool is_there =
        strstr(in_head ? body : strstr(out.bytes, "<body>"), told[i].text) != NULL;
    if (is_there != told[i].is_there)
      print_error("page %d: \"%s\"\n", told[i].page, told[i].text);
    assert_int_equal(is_there, told[i].is_there);
    plag_text_clear(&out);
  }
  plag_test_marks_clear(&made);
}

/* Words that a student should not have to read. */
static void the_tone_is_kind(void **state) {
  static const char *const hard[] = {"wrong", "fail", "blame", "mistake", "bad", "poor", "error"};
  (void)state;
  plag_test_marks made;
  plag_test_marks_make(&made);
  for (int page = 0; page < PLAG_TEST_SUBMISSIONS; page++)
    for (size_t i = 0; i < sizeof hard / sizeof hard[0]; i++) {
      plag_text out = {0};
      page_of(&made, page, &out);
      if (strstr(strstr(out.bytes, "<body>"), hard[i]) != NULL)
        fail_msg("page %d says \"%s\"", page, hard[i]);
      plag_text_clear(&out);
    }
  plag_test_marks_clear(&made);
}

static void a_class_without_submissions_has_a_page(void **state) {
  (void)state;
  plag_test_marks made;
  plag_text out = {0};
  plag_test_marks_make(&made);
  made.book.marked.submission_count = made.book.marked.likeness_count = 0;
  made.book.marked.student_count = 0;
  made.book.marked.median_percent = NAN;
  page_of(&made, INSTRUCTOR, &out);
  assert_non_null(strstr(out.bytes, "0 students"));
  assert_null(strstr(out.bytes, ">nan"));
  plag_text_clear(&out);
  plag_test_marks_clear(&made);
}

static void the_same_class_gives_the_same_bytes(void **state) {
  (void)state;
  plag_test_marks made;
  plag_test_marks_make(&made);
  for (int page = INSTRUCTOR; page < PLAG_TEST_SUBMISSIONS; page++) {
    plag_text one = {0};
    plag_text other = {0};
    page_of(&made, page, &one);
    page_of(&made, page, &other);
    assert_string_equal(one.bytes, other.bytes);
    plag_text_clear(&one);
    plag_text_clear(&other);
  }
  plag_test_marks_clear(&made);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  plag_test_marks made;
  plag_test_marks_make(&made);
  const platelag_sink sink = plag_test_swallowing_sink();
  for (int page = INSTRUCTOR; page <= 1; page++) {
    bool failed = true;
    for (size_t nth = 1; failed; nth++) {
      platelag_error error = {0};
      plag_test_fail_allocation(nth);
      const platelag_status status = write_page(&made, page, &sink, &error);
      failed = plag_test_allocation_failed();
      plag_test_fail_allocation(0);
      assert_int_equal(status, failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    }
  }
  plag_test_marks_clear(&made);
}

static void a_sink_that_fails_is_told(void **state) {
  (void)state;
  plag_test_marks made;
  plag_test_marks_make(&made);
  const platelag_sink sink = plag_test_full_sink();
  for (int page = INSTRUCTOR; page < PLAG_TEST_SUBMISSIONS; page++) {
    platelag_error error = {0};
    assert_int_equal(write_page(&made, page, &sink, &error), PLATELAG_ERROR_IO);
  }
  plag_test_marks_clear(&made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_page_tells_its_own),
      cmocka_unit_test(the_tone_is_kind),
      cmocka_unit_test(a_class_without_submissions_has_a_page),
      cmocka_unit_test(the_same_class_gives_the_same_bytes),
      cmocka_unit_test(every_allocation_may_fail),
      cmocka_unit_test(a_sink_that_fails_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
