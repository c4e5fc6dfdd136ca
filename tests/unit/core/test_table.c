/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A table that a person keeps comes out as a grid, whatever program wrote it, and one that cannot
 * be meant is refused with the line in which to look. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/scratch.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/table.h"
#include "core/text.h"

#define MARK "\xef\xbb\xbf"

/* RFC 4180, section 2: quotes, commas and line ends inside quotes, the last line end or none. */
static const struct shape {
  const char *bytes;
  const char *grid; /* cells in [], rows end with the line that they begin in */
} SHAPES[] = {
    {"file,vehicle\na.csv,17\nb.csv,23\n", "[file][vehicle] [a.csv][17]2 [b.csv][23]3 "},
    {"file,vehicle\r\na.csv,17\r\nb.csv,23", "[file][vehicle] [a.csv][17]2 [b.csv][23]3 "},
    {"file,vehicle\ra.csv,17\rb.csv,23\r", "[file][vehicle] [a.csv][17]2 [b.csv][23]3 "},
    {"file;vehicle\na,b.csv;17\n", "[file][vehicle] [a,b.csv][17]2 "},
    {"file\tvehicle\na;b,c.csv\t17\n", "[file][vehicle] [a;b,c.csv][17]2 "},
    {"\"a;b;c\",vehicle\n1,2\n", "[a;b;c][vehicle] [1][2]2 "},
    {"\n\r\nfile;vehicle\n\n \t\na.csv;17\n\n\nb.csv;23\n\n",
     "[file][vehicle] [a.csv][17]6 [b.csv][23]9 "},
    {MARK "file,vehicle\na.csv,17\n", "[file][vehicle] [a.csv][17]2 "},
    {"file,note\n\"a.csv\",\"two\nlines\"\nb.csv,\"said \"\"no\"\"\"\n",
     "[file][note] [a.csv][two\nlines]2 [b.csv][said \"no\"]4 "},
    {"\"over\ntwo\",note\na.csv,x\n", "[over\ntwo][note] [a.csv][x]3 "},
    {"file , vehicle\n  a.csv\t, 17 \n\" kept \",23\n",
     "[file][vehicle] [a.csv][17]2 [ kept ][23]3 "},
    {"file,vehicle,engine\na.csv\n,,\nb.csv,23,,,\n",
     "[file][vehicle][engine] [a.csv][][]2 [b.csv][23][]4 "},
    {"file,,\na.csv,x,y\n", "[file][][] [a.csv][x][y]2 "},
    {"file\n", "[file] "},
    {"Fahrzeug;D\xc3\xbcse\n\xe5\x90\xb8;\xf0\x9f\x94\xa7\n",
     "[Fahrzeug][D\xc3\xbcse] [\xe5\x90\xb8][\xf0\x9f\x94\xa7]2 "},
};

static void tell(const plag_table *table, plag_text *out) {
  plag_text_reset(out);
  for (size_t i = 0; i < table->column_count; i++)
    plag_text_add_format(out, "[%s]", table->column[i]);
  plag_text_add(out, " ");
  for (size_t row = 0; row < table->row_count; row++) {
    for (size_t i = 0; i < table->column_count; i++)
      plag_text_add_format(out, "[%s]", plag_table_at(table, row, i));
    plag_text_add_format(out, "%lld ", (long long)table->line[row]);
  }
}

static platelag_status read_bytes(const char *bytes, size_t size, plag_table *table,
                                  platelag_error *error) {
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&scratch, "table.csv", bytes, size);
  const platelag_status status =
      plag_table_read(plag_test_scratch_path(&scratch, "table.csv", path), table, error);
  plag_test_scratch_clear(&scratch);
  return status;
}

static void tables_come_out_as_grids(void **state) {
  (void)state;
  plag_text told = {0};
  for (size_t i = 0; i < sizeof SHAPES / sizeof *SHAPES; i++) {
    plag_table table = {0};
    platelag_error error = {0};
    if (read_bytes(SHAPES[i].bytes, 0, &table, &error) != PLATELAG_OK)
      fail_msg("table %zu is refused: %s", i, error.message);
    tell(&table, &told);
    assert_string_equal(told.bytes, SHAPES[i].grid);
    plag_table_clear(&table);
  }
  plag_text_clear(&told);
}

static const struct refusal {
  const char *bytes;
  size_t size;
  int64_t line;
  const char *why; /* part of it */
} REFUSALS[] = {
    {"", 0, 0, "empty"},
    {"\n\n \n", 0, 0, "empty"},
    {MARK, 0, 0, "empty"},
    {"file,vehicle\na.csv,\"17\nb.csv,23\n", 0, 2, "quote"},
    {"file,vehicle\n\na.csv,1\"7\n", 0, 3, "quote"},
    {"file,vehicle\na.csv,\"17\"x\n", 0, 2, "quote"},
    {"file,vehicle\na.csv,17\nb.csv,23,x\n", 0, 3, "3 cells, expected the header's 2"},
    {"file,vehicle,File\na.csv,17,x\n", 0, 1, "two columns"},
    {"\n\nfile;file\na;b\n", 0, 3, "two columns"},
    {"file,vehicle\na.csv,D\xfcse\n", 0, 2, "byte fc"},
    {"file,vehicle\ra.csv,1\rb.csv,D\xfcse\r", 0, 3, "byte fc"},
    {"file,vehicle\r\na.csv,\0\r\n", 23, 2, "byte 00"},
    {"\xff\xfe\x66\0\x69\0", 6, 1, "byte ff"},
};

static void what_cannot_be_meant_is_refused_with_its_line(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof REFUSALS / sizeof *REFUSALS; i++) {
    plag_table table = {0};
    platelag_error error = {0};
    assert_int_equal(read_bytes(REFUSALS[i].bytes, REFUSALS[i].size, &table, &error),
                     PLATELAG_ERROR_INPUT);
    if (strstr(error.message, REFUSALS[i].why) == NULL || error.line != REFUSALS[i].line)
      fail_msg("table %zu: line %lld, \"%s\"", i, (long long)error.line, error.message);
    plag_table_clear(&table);
  }
}

static void a_file_that_is_not_there_or_no_file_is_told(void **state) {
  (void)state;
  plag_table table = {0};
  platelag_error error = {0};
  assert_int_equal(plag_table_read("/nowhere/at all.csv", &table, &error),
                   PLATELAG_ERROR_NOT_FOUND);
  assert_string_equal(error.file, "/nowhere/at all.csv");
  plag_table_clear(&table);
  assert_int_equal(plag_table_read("/tmp", &table, NULL), PLATELAG_ERROR_IO);
  plag_table_clear(&table);
}

static void a_huge_cell_is_kept_whole(void **state) {
  (void)state;
  enum { HUGE = 3300017 };
  char *bytes = malloc(HUGE + 32);
  plag_table table = {0};
  assert_non_null(bytes);
  const int front = snprintf(bytes, 32, "file,note\na.csv,\"");
  memset(bytes + front, 'x', HUGE);
  memcpy(bytes + front + HUGE, "\"\n", 3);
  assert_int_equal(read_bytes(bytes, 0, &table, NULL), PLATELAG_OK);
  assert_int_equal(strlen(plag_table_at(&table, 0, 1)), HUGE);
  plag_table_clear(&table);
  free(bytes);
}

/* Rows that hold less than a wide header take no more than they hold. */
static void short_rows_below_a_wide_header_are_short(void **state) {
  (void)state;
  enum { ROWS = 4000, BYTES = 3 * PLAG_TABLE_COLUMNS + 3 * ROWS };
  char *bytes = calloc(1, BYTES);
  plag_table table = {0};
  assert_non_null(bytes);
  char *at = bytes;
  for (int i = 0; i < PLAG_TABLE_COLUMNS; i++)
    at += sprintf(at, "%s", i == 0 ? "file" : i == PLAG_TABLE_COLUMNS - 1 ? ",note" : ",");
  for (int i = 0; i < ROWS; i++)
    at += sprintf(at, "\n%d", i % 10);
  assert_int_equal(read_bytes(bytes, 0, &table, NULL), PLATELAG_OK);
  assert_int_equal(table.column_count, PLAG_TABLE_COLUMNS);
  assert_int_equal(table.row_count, ROWS);
  assert_int_equal(table.row_begin[ROWS], ROWS);
  assert_string_equal(plag_table_at(&table, 2385, 0), "5");
  assert_string_equal(plag_table_at(&table, 2385, plag_table_find(&table, "note")), "");
  plag_table_clear(&table);
  platelag_error error = {0};
  memmove(bytes + 1, bytes, strlen(bytes));
  bytes[0] = ','; /* one column more */
  assert_int_equal(read_bytes(bytes, 0, &table, &error), PLATELAG_ERROR_INPUT);
  assert_string_equal(error.message, "1025 columns, expected 1024 at most");
  plag_table_clear(&table);
  free(bytes);
}

static void columns_are_found_by_name(void **state) {
  (void)state;
  plag_table table = {0};
  assert_int_equal(read_bytes("File,VEHICLE\na.csv,17\n", 0, &table, NULL), PLATELAG_OK);
  assert_int_equal(plag_table_find(&table, "vehicle"), 1);
  assert_int_equal(plag_table_find(&table, "engine"), SIZE_MAX);
  assert_string_equal(plag_table_at(&table, 0, plag_table_find(&table, "file")), "a.csv");
  assert_string_equal(plag_table_at(&table, 0, SIZE_MAX), "");
  plag_table_clear(&table);
}

static void a_failed_allocation_is_told(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&scratch, "table.csv", SHAPES[8].bytes, 0);
  (void)plag_test_scratch_path(&scratch, "table.csv", path);
  size_t nth = 0;
  platelag_status status = PLATELAG_ERROR_MEMORY;
  while (status != PLATELAG_OK) {
    plag_table table = {0};
    platelag_error error = {0};
    plag_test_fail_allocation(++nth);
    status = plag_table_read(path, &table, &error);
    assert_int_equal(status, plag_test_allocation_failed() ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    plag_test_fail_allocation(0);
    plag_table_clear(&table);
  }
  assert_true(nth > 4);
  plag_test_scratch_clear(&scratch);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(tables_come_out_as_grids),
      cmocka_unit_test(what_cannot_be_meant_is_refused_with_its_line),
      cmocka_unit_test(a_file_that_is_not_there_or_no_file_is_told),
      cmocka_unit_test(a_huge_cell_is_kept_whole),
      cmocka_unit_test(short_rows_below_a_wide_header_are_short),
      cmocka_unit_test(columns_are_found_by_name),
      cmocka_unit_test(a_failed_allocation_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
