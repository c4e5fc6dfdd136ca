/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The first error wins and is told with the place that is known. */
#include "support/check.h"

#include <string.h>

#include "core/error.h"

static void tells_the_place_that_is_known(void **state) {
  (void)state;
  static const struct {
    const char *file;
    int64_t line, column;
    const char *text;
  } cases[] = {
      {"shuttle.csv", 37, 4, "shuttle.csv:37:4: found \"x\""},
      {"shuttle.csv", 37, 0, "shuttle.csv:37: found \"x\""},
      {"shuttle.csv", 0, 4, "shuttle.csv: found \"x\""},
      {NULL, 37, 4, "found \"x\""},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    platelag_error error = {0};
    assert_int_equal(plag_error_set(&error, PLATELAG_ERROR_INPUT, cases[i].file, cases[i].line,
                                    cases[i].column, "found \"%s\"", "x"),
                     PLATELAG_ERROR_INPUT);
    char text[128];
    assert_int_equal(platelag_error_describe(&error, text, sizeof text), strlen(cases[i].text));
    assert_string_equal(text, cases[i].text);
    assert_int_equal(platelag_error_describe(&error, text, 8), strlen(cases[i].text));
    assert_int_equal(strlen(text), 7);
  }
}

static void the_first_error_wins(void **state) {
  (void)state;
  platelag_error error = {0};
  (void)plag_error_set(&error, PLATELAG_ERROR_NOT_FOUND, "a.csv", 0, 0, "is not there");
  assert_int_equal(plag_error_memory(&error, "rows"), PLATELAG_ERROR_MEMORY);
  assert_int_equal(error.status, PLATELAG_ERROR_NOT_FOUND);
  assert_string_equal(error.message, "is not there");
  assert_int_equal(plag_error_memory(NULL, "rows"), PLATELAG_ERROR_MEMORY);
}

static void what_would_help_is_of_the_same_error(void **state) {
  (void)state;
  platelag_error error = {0};
  assert_int_equal(plag_error_set_with(&error, "rows_per_second", "a.csv", 1, 0, "no %s", "clock"),
                   PLATELAG_ERROR_INPUT);
  assert_string_equal(error.message, "no clock");
  assert_string_equal(error.setting, "rows_per_second");
  (void)plag_error_set_with(&error, "command", "a.csv", 0, 0, "no command");
  assert_string_equal(error.setting, "rows_per_second");
  platelag_error other = {.setting = "command"}; /* from before */
  (void)plag_error_set(&other, PLATELAG_ERROR_INPUT, "a.csv", 1, 0, "no table");
  assert_null(other.setting);
}

static void a_long_name_is_cut_not_overrun(void **state) {
  (void)state;
  char name[1000];
  memset(name, 'n', sizeof name - 1);
  name[sizeof name - 1] = '\0';
  platelag_error error = {0};
  (void)plag_error_set(&error, PLATELAG_ERROR_INPUT, name, 2, 3, "%s", name);
  assert_int_equal(strlen(error.file), sizeof error.file - 1);
  assert_int_equal(strlen(error.message), sizeof error.message - 1);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(tells_the_place_that_is_known),
      cmocka_unit_test(the_first_error_wins),
      cmocka_unit_test(what_would_help_is_of_the_same_error),
      cmocka_unit_test(a_long_name_is_cut_not_overrun),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
