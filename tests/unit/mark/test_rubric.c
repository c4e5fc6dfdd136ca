/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rubric that is written and read again is the same; one that is broken is refused with the line
 * and what stands there. */
#include "support/check.h"
#include "support/scratch.h"

#include <string.h>

#include "core/text.h"
#include "mark/rubric.h"

static platelag_status add_text(void *context, const char *bytes, size_t size,
                                platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

static platelag_status read_text(const char *text, platelag_rubric **out, platelag_error *error) {
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&scratch, "rubric.ini", text, 0);
  const platelag_status status =
      platelag_rubric_read(plag_test_scratch_path(&scratch, "rubric.ini", path), out, error);
  plag_test_scratch_clear(&scratch);
  return status;
}

static void check_round_trip(const platelag_rubric *rubric) {
  plag_text text = {0};
  const platelag_sink sink = {&text, add_text};
  platelag_rubric *again = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_rubric_write(rubric, &sink, NULL), PLATELAG_OK);
  if (read_text(text.bytes, &again, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_memory_equal(again, rubric, sizeof *rubric);
  platelag_rubric_destroy(again);
  plag_text_clear(&text);
}

static void what_is_written_is_read_again(void **state) {
  (void)state;
  platelag_rubric *rubric = NULL;
  assert_int_equal(platelag_rubric_create(&rubric, NULL), PLATELAG_OK);
  check_round_trip(rubric);
  rubric->points[PLAG_CRITERION_LENGTH] = 2.75;
  rubric->points[PLAG_CRITERION_FAMILY] = 0;
  rubric->setting[PLAG_CRITERION_LENGTH][0] = 7.125;
  rubric->setting[PLAG_CRITERION_FINDING][2] = 0.333333;
  rubric->setting[PLAG_CRITERION_GAPS][0] = 0.0625;
  check_round_trip(rubric);
  platelag_rubric_destroy(rubric);
}

static void what_is_not_named_gives_nothing(void **state) {
  (void)state;
  platelag_rubric *rubric = NULL;
  assert_int_equal(read_text("[length]\nminutes = 3.5\npoints = 12.5\n", &rubric, NULL),
                   PLATELAG_OK);
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    assert_close(rubric->points[i], i == PLAG_CRITERION_LENGTH ? 12.5 : 0, 0, 0);
  assert_close(rubric->setting[PLAG_CRITERION_LENGTH][0], 3.5, 0, 0);
  /* What is not set stands as it is. */
  assert_close(rubric->setting[PLAG_CRITERION_FINDING][0], 0.4, 0, 0);
  platelag_rubric_destroy(rubric);
}

static void a_broken_one_is_refused_with_its_line(void **state) {
  (void)state;
  static const struct {
    const char *text;
    long line;
    const char *words, *more;
  } ROWS[] = {
      {"[lenght]\npoints = 3\n", 2, "lenght", "[length]"},
      {"points = 3\n", 1, "section", "[length]"},
      {"[length]\npoints = 3\nminute = 4\n", 3, "minute", "minutes"},
      {"[length]\npoints = 3\n\nminutes = 0\n", 4, "minutes", "0.1"},
      {"[length]\npoints = -1\n", 2, "points", "1000"},
      {"[length]\npoints = 1001\n", 2, "points", "1000"},
      {"[length]\npoints = many\n", 2, "many", "1000"},
      {"[length]\npoints = nan\n", 2, "nan", "1000"},
      {"[length]\npoints =\n", 2, "points", "1000"},
      {"[length]\npoints = 3\npoints = 4\n", 3, "points", "once"},
      {"[length]\npoints = 3\n[length]\nminutes = 2\nminutes = 3\n", 5, "minutes", "once"},
      {"[length]\npoints = 0\n", 0, "no criterion", "points"},
      {"", 0, "no criterion", "points"},
      {"[finding]\npoints = 3\nnear = 1.5\n", 3, "near", "1"},
      {"[channels]\npoints = 3\nminutes = 4\n", 3, "minutes", "points"},
      {"[length]\npoints = 3\nthis is no key\n", 3, "", ""},
      {"[length\npoints = 3\n", 2, "section", "[length]"},
  };
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    platelag_rubric *rubric = NULL;
    platelag_error error = {0};
    const platelag_status status = read_text(ROWS[i].text, &rubric, &error);
    if (status != PLATELAG_ERROR_INPUT || rubric != NULL || error.line != ROWS[i].line ||
        strstr(error.message, ROWS[i].words) == NULL || strstr(error.message, ROWS[i].more) == NULL)
      fail_msg("row %zu: %d, line %lld, %s", i, (int)status, (long long)error.line, error.message);
  }
}

static void one_that_is_not_there_is_told(void **state) {
  (void)state;
  platelag_rubric *rubric = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_rubric_read("/nowhere/rubric.ini", &rubric, &error),
                   PLATELAG_ERROR_NOT_FOUND);
  assert_non_null(strstr(error.message, "no such file"));
  assert_null(rubric);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(what_is_written_is_read_again),
                                     cmocka_unit_test(what_is_not_named_gives_nothing),
                                     cmocka_unit_test(a_broken_one_is_refused_with_its_line),
                                     cmocka_unit_test(one_that_is_not_there_is_told)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
