/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The key: what stands in it is what is marked against, and a slip in it is told with its line,
 * since it would mark a whole class wrong. */
#include "support/check.h"
#include "support/scratch.h"

#include <math.h>
#include <string.h>

#include "mark/book.h"

static platelag_status read_bytes(const char *text, size_t size, plag_key_table *out,
                                  platelag_error *error) {
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&scratch, "key.csv", text, size);
  const platelag_status status =
      plag_key_read(plag_test_scratch_path(&scratch, "key.csv", path), out, error);
  plag_test_scratch_clear(&scratch);
  return status;
}

static void rows_hold_what_was_written(void **state) {
  (void)state;
  static const char TEXT[] =
      "Vehicle;Finding;Family;Code;Code_says;Next_test;Conditions;opening_t63_s;valve\n"
      "cart 17;Signal high;sensor;P2015;no;hand sweep, borescope;hand sweep|road;0,31;bank 2\n"
      "cart 23;none;;;;;;;\n"
      "\n"
      "\"cart; 42\";sticking;;;;supply, connector|look;road after;;\n"
      "cart 5;slow;;;;hand sweep;hand sweep;;\n"
      "cart 6;slow;;;;sweep, ,look;road , ;;\n";
  plag_key_table key;
  platelag_error error = {0};
  if (read_bytes(TEXT, 0, &key, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(key.count, 5);
  const plag_key_row *row = plag_key_find(&key, "cart 17");
  assert_int_equal(row->finding, PLATELAG_FINDING_SIGNAL_HIGH);
  assert_true(row->family_given && row->verdict_given);
  assert_int_equal(row->family, PLATELAG_FAMILY_SENSOR_CIRCUIT);
  assert_int_equal(row->verdict, PLATELAG_CODE_CONTRADICTED);
  assert_string_equal(row->code, "P2015");
  assert_string_equal(row->valve, "bank 2");
  assert_int_equal(row->test_count, 2);
  assert_string_equal(row->test[0], "hand_sweep");
  assert_string_equal(row->test[1], "borescope");
  assert_int_equal(row->conditions,
                   1U << PLATELAG_CONDITION_HAND_SWEEP | 1U << PLATELAG_CONDITION_ROAD);
  assert_close(row->figure[1], 0.31, 1e-15, 0);
  assert_true(isnan(row->figure[0]) && isnan(row->figure[2]));
  row = plag_key_find(&key, "cart 23");
  assert_int_equal(row->finding, PLATELAG_FINDING_FREE);
  assert_false(row->family_given || row->verdict_given);
  assert_int_equal(row->test_count, 0);
  assert_int_equal(row->conditions, 1U << PLATELAG_CONDITION_ROAD);
  row = plag_key_find(&key, "cart; 42");
  assert_int_equal(row->line, 5);
  assert_int_equal(row->test_count, 3);
  assert_int_equal(row->conditions, 1U << PLATELAG_CONDITION_ROAD | 1U << PLATELAG_CONDITION_AFTER);
  row = plag_key_find(&key, "cart 5");
  assert_int_equal(row->test_count, 1);
  assert_int_equal(row->conditions, 1U << PLATELAG_CONDITION_HAND_SWEEP);
  row = plag_key_find(&key, "cart 6");
  assert_int_equal(row->test_count, 2);
  assert_string_equal(row->test[1], "borescope");
  /* The case of letters and blanks are forgiven. */
  assert_ptr_equal(plag_key_find(&key, "Cart  6"), row);
  assert_null(plag_key_find(&key, "cart 66"));
  plag_key_clear(&key);
}

/* Unless that would be a guess. */
static void names_that_are_alike_are_not_guessed_at(void **state) {
  (void)state;
  plag_key_table key;
  assert_int_equal(read_bytes("vehicle,finding\nCart 1,slow\ncart 1,free\n", 0, &key, NULL),
                   PLATELAG_OK);
  assert_int_equal(plag_key_find(&key, "cart 1")->line, 3);
  assert_int_equal(plag_key_find(&key, "Cart 1")->line, 2);
  assert_null(plag_key_find(&key, "CART 1"));
  plag_key_clear(&key);
}

static void a_slip_is_told_with_its_line(void **state) {
  (void)state;
  static const struct {
    const char *text;
    size_t size; /* 0: a text */
    int64_t line;
    const char *words;
  } ROWS[] = {
      {"", 0, 0, "empty"},
      {"\n\n", 0, 0, "empty"},
      {"vehicle,verdict\na,slow\n", 0, 1, "finding"},
      {"car,finding\na,slow\n", 0, 1, "vehicle"},
      {"vehicle,finding\na,slow\nb,slowly\n", 0, 3, "slowly"},
      {"vehicle,finding\na,slow\nb,\n", 0, 3, "cannot_tell"},
      {"vehicle,finding\na,slow\n,free\n", 0, 3, "no vehicle"},
      {"vehicle,finding\na,slow\n\nb,free\na,free\n", 0, 5, "line 2"},
      {"vehicle,finding,family\na,slow,driver\n", 0, 2, "driver"},
      {"vehicle,finding,code_says\na,slow,maybe\n", 0, 2, "maybe"},
      {"vehicle,finding,next_test\na,slow,hand sweep|guess\n", 0, 2, "guess"},
      {"vehicle,finding,conditions\na,slow,road|sea\n", 0, 2, "sea"},
      {"vehicle,finding,opening_t63_s\na,slow,quick\n", 0, 2, "quick"},
      {"vehicle,finding,opening_t63_s\na,slow,0.2-0.3\n", 0, 2, "0.2-0.3"},
      {"vehicle,finding\na,slow,free\n", 0, 2, "3 cells"},
      {"vehicle,finding\na,\"slow\n", 0, 2, "quote"},
      {"\xff\xfev\0e\0h\0", 8, 1, "UTF-8"},
      {"\xfe\xff\0v\0e\0h", 8, 1, "UTF-8"},
      {"v\0e\0h\0", 6, 1, "UTF-8"},
  };
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_key_table key;
    platelag_error error = {0};
    const platelag_status status = read_bytes(ROWS[i].text, ROWS[i].size, &key, &error);
    if (status != PLATELAG_ERROR_INPUT || error.line != ROWS[i].line ||
        strstr(error.message, ROWS[i].words) == NULL)
      fail_msg("row %zu: %d, line %lld, %s", i, (int)status, (long long)error.line, error.message);
    plag_key_clear(&key);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(rows_hold_what_was_written),
                                     cmocka_unit_test(names_that_are_alike_are_not_guessed_at),
                                     cmocka_unit_test(a_slip_is_told_with_its_line)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
