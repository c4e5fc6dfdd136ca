/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A table that cannot be read right is refused where that shows, with what was found and what was
 * expected; a column that does not read makes way for another. */
#include "support/check.h"

#include <string.h>

#include "core/text.h"
#include "platelag/spec.h"
#include "support/describe_capture.h"
#include "support/memory_source.h"

#define HEAD "Time (s),Runner duty (%),Runner position (V)\n"

/* Rows 0.1 s apart, with another one in place of every `every`th. */
typedef struct story {
  const char *what;
  const char *head;
  int rows, every;
  const char *odd; /* "%d" is the row */
  int64_t line, column;
  const char *words;
} story;

static const story stories[] = {
    {"a comma within a number", HEAD, 60, 23, "%d.0,12,5,1.25\n", 24, 4,
     "4 cells where the header names 3 columns (2 such rows)"},
    {"the header alone", HEAD, 0, 1, "", 1, 0, "no clock found among the 3 columns"},
    {"one row", HEAD, 1, 2, "", 2, 0, "one data row only"},
    {"rows sorted by something else", HEAD, 60, 6, "0.0%d,12.5,1.25\n", 7, 1,
     "steps back 10 times in 60 rows"},
    {"a clock that stands", HEAD, 60, 1, "0,%d.5,1.25\n", 2, 1, "never moves"},
    {"other columns below", HEAD, 60, 31, "Runner position (V),Time (s),Runner duty (%%)\n", 32, 1,
     "a second header with its columns in another order"},
};

static void write_rows(const story *s, plag_text *file) {
  plag_text_reset(file);
  plag_text_add(file, s->head);
  for (int row = 1; row <= s->rows; row++)
    if (row % s->every == 0)
      plag_text_add_format(file, s->odd, row);
    else
      plag_text_add_format(file, "%d.%d,%d.5,1.%02d\n", row / 10, row % 10, 10 + row % 7, row % 90);
}

static void tables_are_refused_where_it_shows(void **state) {
  (void)state;
  plag_text file = {0};
  size_t wrong = 0;
  for (size_t i = 0; i < sizeof stories / sizeof stories[0]; i++) {
    const story *s = &stories[i];
    platelag_capture *capture = NULL;
    platelag_error error = {0};
    write_rows(s, &file);
    const platelag_status status =
        plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error);
    if (status != PLATELAG_ERROR_INPUT || capture != NULL || error.line != s->line ||
        error.column != s->column || strstr(error.message, s->words) == NULL) {
      print_error("%s: %lld:%lld: %s\n", s->what, (long long)error.line, (long long)error.column,
                  error.message);
      wrong++;
    }
  }
  assert_int_equal(wrong, 0);
  plag_text_clear(&file);
}

/* Three cells of 60 that say nothing are too many for the position, where another column has it. */
static void a_column_that_does_not_read_makes_way(void **state) {
  (void)state;
  plag_text file = {0};
  plag_text_add(&file,
                "Time (s),Runner duty (%),Runner position (V),Runner position filtered (V)\n");
  for (int row = 1; row <= 60; row++)
    plag_text_add_format(&file,
                         row % 19 == 0 ? "%d.%d,%d.5,no bus,1.%02d\n" : "%d.%d,%d.5,2.5,1.%02d\n",
                         row / 10, row % 10, 10 + row % 7, row);
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  assert_int_equal(plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error),
                   PLATELAG_OK);
  const platelag_note *note = plag_test_find_note(capture, "is not used as position");
  assert_non_null(note);
  assert_int_equal(note->line, 20);
  assert_int_equal(note->column, 3);
  assert_non_null(strstr(note->text, "3 of its cells are no value"));
  const platelag_channel *other = plag_test_channel(capture, "Runner position filtered");
  assert_int_equal(other->role, PLATELAG_ROLE_POSITION);
  assert_close(other->value[59], 1.60, 0, 1e-12);
  platelag_capture_destroy(capture);
  plag_text_clear(&file);
}

/* One column cannot be both. */
static void a_column_named_twice_is_refused(void **state) {
  (void)state;
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_name_columns(spec, "Runner duty", "runner DUTY", &error),
                   PLATELAG_OK);
  plag_text file = {0};
  write_rows(&(story){.head = HEAD, .rows = 60, .every = 61}, &file);
  platelag_capture *capture = NULL;
  const platelag_read_options options = {.spec = spec};
  assert_int_equal(plag_test_read_bytes(file.bytes, file.length, &options, &capture, &error),
                   PLATELAG_ERROR_INPUT);
  assert_int_equal(error.column, 2);
  assert_non_null(strstr(error.message, "is named as command and as position"));
  plag_text_clear(&file);
  platelag_spec_destroy(spec);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(tables_are_refused_where_it_shows),
      cmocka_unit_test(a_column_that_does_not_read_makes_way),
      cmocka_unit_test(a_column_named_twice_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
