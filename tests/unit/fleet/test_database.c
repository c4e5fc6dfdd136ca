/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Statements are translated mark by mark, values come back from a file as they went in, and a file
 * that is no store of this program is left alone. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/scratch.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fleet/database.h"
#include "fleet/store.h"

static void marks_become_the_dialect_s_words(void **state) {
  (void)state;
  static const char *const words[4] = {"BIGINT", "DOUBLE", " END", "COLLATE \"C\""};
  static const struct {
    const char *sql, *translated;
  } STATEMENTS[] = {
      {"SELECT 1", "SELECT 1"},
      {"CREATE TABLE a (b @I, c @R)@T", "CREATE TABLE a (b BIGINT, c DOUBLE) END"},
      {"ORDER BY a @C, b @C", "ORDER BY a COLLATE \"C\", b COLLATE \"C\""},
      {"a@", "a@"},
      {"a@b @@I", "a@b @BIGINT"},
  };
  for (size_t i = 0; i < sizeof STATEMENTS / sizeof *STATEMENTS; i++) {
    char *text = plag_database_translate(STATEMENTS[i].sql, words);
    assert_string_equal(text, STATEMENTS[i].translated);
    free(text);
  }
  plag_test_fail_allocation(1);
  assert_null(plag_database_translate("SELECT 1", words));
  plag_test_fail_allocation(0);
}

static void servers_are_told_from_files(void **state) {
  (void)state;
  assert_true(plag_database_is_url("postgresql://host/base"));
  assert_true(plag_database_is_url("postgres://host/base"));
  assert_false(plag_database_is_url("postgresql.db"));
  assert_false(plag_database_is_url("/data/postgres://x"));
  assert_false(plag_database_is_url(""));
}

static const char PUT[] = "INSERT INTO kept (a, b, c, d) VALUES ($1, $2, $3, $4)";

typedef struct row {
  plag_value cell[4];
  char text[64];
  size_t rows;
} row;

static platelag_status take_row(void *context, const plag_value *cell, size_t count,
                                platelag_error *error) {
  row *r = context;
  (void)error;
  assert_int_equal(count, 4);
  memcpy(r->cell, cell, sizeof r->cell);
  (void)snprintf(r->text, sizeof r->text, "%s", plag_value_text(&cell[2]));
  r->rows++;
  return PLATELAG_OK;
}

static plag_database *open_new(plag_test_scratch *scratch, char path[PLAG_TEST_PATH_BYTES]) {
  plag_database *database = NULL;
  platelag_error error = {0};
  (void)plag_test_scratch_path(scratch, "base.db", path);
  if (plag_database_open_sqlite(path, true, &database, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  return database;
}

static void values_come_back_as_they_went_in(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_database *base = open_new(&scratch, path);
  assert_int_equal(plag_database_run(base, "CREATE TABLE kept (a @I, b @R, c TEXT, d @R)@T", NULL,
                                     0, NULL, NULL, NULL),
                   PLATELAG_OK);
  const plag_value value[] = {plag_whole(INT64_MIN + 17), plag_real(0.1 + 0.2),
                              plag_string("D\xfcse; DROP TABLE kept"), plag_real(NAN)};
  assert_int_equal(plag_database_run(base, PUT, value, 4, NULL, NULL, NULL), PLATELAG_OK);
  row back = {0};
  static const char get[] = "SELECT a, b, c, d FROM kept";
  assert_int_equal(plag_database_run(base, get, NULL, 0, take_row, &back, NULL), PLATELAG_OK);
  assert_true(plag_value_whole(&back.cell[0]) == INT64_MIN + 17);
  assert_true(plag_value_real(&back.cell[1]) == 0.1 + 0.2);
  assert_string_equal(back.text, "D\xfcse; DROP TABLE kept");
  assert_int_equal(back.cell[3].kind, PLAG_VALUE_NULL);
  assert_true(isnan(plag_value_real(&back.cell[3])));
  assert_close(plag_value_real(&back.cell[0]), (double)(INT64_MIN + 17), 0, 0);
  assert_string_equal(plag_value_text(&back.cell[3]), "");
  const plag_value beyond[] = {plag_whole(0), plag_real(INFINITY), plag_string(NULL),
                               plag_real(-INFINITY)};
  assert_int_equal(plag_database_run(base, "DELETE FROM kept", NULL, 0, NULL, NULL, NULL),
                   PLATELAG_OK);
  assert_int_equal(plag_database_run(base, PUT, beyond, 4, NULL, NULL, NULL), PLATELAG_OK);
  assert_int_equal(plag_database_run(base, get, NULL, 0, take_row, &back, NULL), PLATELAG_OK);
  assert_true(plag_value_real(&back.cell[1]) == INFINITY);
  assert_true(plag_value_real(&back.cell[3]) == -INFINITY);
  assert_int_equal(back.rows, 2);
  plag_database_close(base);
  plag_test_scratch_clear(&scratch);
}

static platelag_status refuse_row(void *context, const plag_value *cell, size_t count,
                                  platelag_error *error) {
  (void)cell;
  (void)count;
  (void)error;
  ++*(int *)context;
  return PLATELAG_ERROR_USAGE;
}

static void a_taker_ends_the_statement(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_database *base = open_new(&scratch, path);
  int rows = 0;
  static const char three[] = "SELECT 1 UNION ALL SELECT 2 UNION ALL SELECT 3";
  for (int i = 1; i <= 2; i++) { /* again: the first did not leave it half way */
    assert_int_equal(plag_database_run(base, three, NULL, 0, refuse_row, &rows, NULL),
                     PLATELAG_ERROR_USAGE);
    assert_int_equal(rows, i);
  }
  platelag_error error = {0};
  assert_int_equal(plag_database_run(base, "SELECT a FROM nowhere", NULL, 0, NULL, NULL, &error),
                   PLATELAG_ERROR_IO);
  if (strstr(error.message, "nowhere") == NULL)
    fail_msg("%s", error.message);
  plag_database_close(base);
  plag_database_close(NULL);
  plag_test_scratch_clear(&scratch);
}

static void a_store_belongs_to_one_at_a_time(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_database *base = open_new(&scratch, path);
  plag_database *other = NULL;
  platelag_error error = {0};
  assert_int_equal(plag_database_open_sqlite(path, true, &other, &error), PLATELAG_ERROR_IO);
  assert_null(other);
  assert_non_null(strstr(error.message, "another run is at work"));
  plag_database_close(base);
  assert_int_equal(plag_database_open_sqlite(path, false, &other, NULL), PLATELAG_OK);
  plag_database_close(other);
  plag_test_scratch_clear(&scratch);
}

static void make_foreign(const char *path) {
  sqlite3 *handle = NULL;
  assert_int_equal(sqlite3_open(path, &handle), SQLITE_OK);
  assert_int_equal(sqlite3_exec(handle, "CREATE TABLE theirs (a)", NULL, NULL, NULL), SQLITE_OK);
  assert_int_equal(sqlite3_close(handle), SQLITE_OK);
}

static void other_files_are_left_alone(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  platelag_fleet_store *store = NULL;
  platelag_error error = {0};
  make_foreign(plag_test_scratch_path(&scratch, "theirs.db", path));
  assert_int_equal(platelag_fleet_store_open(path, true, &store, &error), PLATELAG_ERROR_INPUT);
  assert_non_null(strstr(error.message, "another program"));
  assert_null(store);
  plag_test_scratch_write(&scratch, "log.csv", "Time (s),Duty (%)\n0.0,7.3\n0.1,7.3\n", 0);
  (void)plag_test_scratch_path(&scratch, "log.csv", path);
  error = (platelag_error){0};
  assert_int_equal(platelag_fleet_store_open(path, true, &store, &error), PLATELAG_ERROR_INPUT);
  assert_string_equal(error.file, path);
  (void)plag_test_scratch_path(&scratch, "none.db", path);
  assert_int_equal(platelag_fleet_store_open(path, false, &store, NULL), PLATELAG_ERROR_NOT_FOUND);
  assert_int_equal(platelag_fleet_store_open("/nowhere/at/all.db", true, &store, NULL),
                   PLATELAG_ERROR_NOT_FOUND);
  assert_null(store);
  plag_test_scratch_clear(&scratch);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(marks_become_the_dialect_s_words),
      cmocka_unit_test(servers_are_told_from_files),
      cmocka_unit_test(values_come_back_as_they_went_in),
      cmocka_unit_test(a_taker_ends_the_statement),
      cmocka_unit_test(a_store_belongs_to_one_at_a_time),
      cmocka_unit_test(other_files_are_left_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
