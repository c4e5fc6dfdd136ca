/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The manifest finds its rows by the ends of paths, and whoever keeps it learns the line of each
 * slip. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/scratch.h"

#include <string.h>

#include "fleet/manifest.h"

static platelag_status read_text(const char *text, plag_manifest *out, platelag_error *error) {
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&scratch, "manifest.csv", text, 0);
  const platelag_status status =
      plag_manifest_read(plag_test_scratch_path(&scratch, "manifest.csv", path), out, error);
  plag_test_scratch_clear(&scratch);
  return status;
}

static const char WHOLE[] = "Vehicle;File;Date;Condition;Engine;Repair;Valve;Driver\n"
                            "17;bus 17/monday.csv;2026-03-14;;2.0;;;A. N.\n"
                            "23;monday.csv;2026-03-15 07:41;After;;;;\n"
                            "17;;2026-03-20;;;plates cleaned;bank 1;\n"
                            "42;./tour/x.csv;;road;;;;\n"
                            "17;bus 17/late.csv;2026-04-02;after;2.0;new sensor;;\n";

static void rows_are_found_by_the_ends_of_paths(void **state) {
  (void)state;
  static const struct {
    const char *path, *vehicle; /* NULL: no row */
  } ROWS[] = {{"/data/bus 17/monday.csv", "17"},
              {"bus 17/monday.csv", "17"},
              {"monday.csv", "23"},
              {"/data/bus 9/monday.csv", "23"},
              {"a/tour/x.csv", "42"},
              {"tour/x.csv", "42"},
              {"/data/xmonday.csv", NULL},
              {"x.csv", NULL},
              {"/data/bus 17/", NULL},
              {"", NULL},
              {"/", NULL}};
  plag_manifest manifest;
  platelag_error error = {0};
  if (read_text(WHOLE, &manifest, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(manifest.file_count, 4);
  assert_int_equal(manifest.repair_count, 2);
  assert_true(manifest.tells_repairs);
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_manifest_row row;
    const bool found = plag_manifest_find(&manifest, ROWS[i].path, &row);
    if (found != (ROWS[i].vehicle != NULL) || (found && strcmp(row.vehicle, ROWS[i].vehicle) != 0))
      fail_msg("%s: %s", ROWS[i].path, found ? row.vehicle : "none");
  }
  plag_manifest_clear(&manifest);
}

static void rows_hold_what_was_written(void **state) {
  (void)state;
  plag_manifest manifest;
  assert_int_equal(read_text(WHOLE, &manifest, NULL), PLATELAG_OK);
  plag_manifest_row row;
  assert_true(plag_manifest_find(&manifest, "bus 17/late.csv", &row));
  assert_string_equal(row.engine, "2.0");
  assert_true(row.dated && row.condition_given);
  assert_int_equal(row.at_unix_s, 1775088000); /* date -u -d 2026-04-02 +%s */
  assert_int_equal(row.condition, PLATELAG_CONDITION_AFTER);
  assert_int_equal(row.line, 6);
  assert_true(plag_manifest_find(&manifest, "bus 17/monday.csv", &row));
  assert_false(row.condition_given);
  assert_true(plag_manifest_find(&manifest, "tour/x.csv", &row));
  assert_true(!row.dated && row.condition_given);
  assert_int_equal(row.condition, PLATELAG_CONDITION_ROAD);
  assert_string_equal(row.engine, "");
  plag_manifest_clear(&manifest);
  assert_int_equal(read_text("file,vehicle\na.csv,17\n", &manifest, NULL), PLATELAG_OK);
  assert_false(manifest.tells_repairs);
  plag_manifest_clear(&manifest);
  assert_int_equal(read_text("repair,vehicle,date\n", &manifest, NULL), PLATELAG_OK);
  assert_true(manifest.tells_repairs);
  assert_false(plag_manifest_find(&manifest, "a.csv", &row));
  plag_manifest_clear(&manifest);
}

static void repairs_are_those_of_rows_with_a_file_and_without(void **state) {
  (void)state;
  plag_manifest manifest;
  assert_int_equal(read_text(WHOLE, &manifest, NULL), PLATELAG_OK);
  static const plag_repair_row expected[] = {
      {"17", "bank 1", "plates cleaned", 1773964800}, /* date -u -d 2026-03-20 +%s */
      {"17", "", "new sensor", 1775088000}};
  for (size_t i = 0; i < manifest.repair_count; i++) {
    const plag_repair_row repair = plag_manifest_repair_at(&manifest, i);
    assert_string_equal(repair.vehicle, expected[i].vehicle);
    assert_string_equal(repair.valve, expected[i].valve);
    assert_string_equal(repair.what, expected[i].what);
    assert_int_equal(repair.at_unix_s, expected[i].at_unix_s);
  }
  plag_manifest_clear(&manifest);
}

static void a_row_takes_few_bytes(void **state) {
  (void)state;
  enum { FILES = 3000, LOGS = 8 };
  plag_text text = {0};
  plag_manifest manifest;
  plag_text_add(&text, "file,vehicle,engine,date,condition,repair\n");
  for (int i = FILES; i-- > 0;)
    plag_text_add_format(&text, "bus-%05d/log %d.csv,bus-%05d,heron 18,2026-03-14,road,\n",
                         i / LOGS, i % LOGS, i / LOGS);
  assert_int_equal(read_text(text.bytes, &manifest, NULL), PLATELAG_OK);
  assert_int_equal(manifest.file_count, FILES);
  /* the path, and every eighth time a vehicle */
  assert_in_range(manifest.words.length, FILES * 20, FILES * 23);
  plag_manifest_row row;
  assert_true(plag_manifest_find(&manifest, "/srv/bus-00237/log 5.csv", &row));
  assert_string_equal(row.vehicle, "bus-00237");
  assert_string_equal(row.engine, "heron 18");
  plag_manifest_clear(&manifest);
  plag_text_clear(&text);
}

static void a_failed_allocation_is_told(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&scratch, "manifest.csv", WHOLE, 0);
  (void)plag_test_scratch_path(&scratch, "manifest.csv", path);
  size_t nth = 0;
  platelag_status status = PLATELAG_ERROR_MEMORY;
  while (status != PLATELAG_OK) {
    plag_manifest manifest;
    plag_test_fail_allocation(++nth);
    status = plag_manifest_read(path, &manifest, NULL);
    assert_int_equal(status, plag_test_allocation_failed() ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    plag_test_fail_allocation(0);
    plag_manifest_clear(&manifest);
  }
  assert_true(nth > 6);
  plag_test_scratch_clear(&scratch);
}

static const struct refusal {
  const char *text;
  int64_t line;
  const char *why;
} REFUSALS[] = {
    {"name,vehicle\na.csv,17\n", 1, "no column \"file\""},
    {"file,date\na.csv,14.03.2026\n", 2, "the date \"14.03.2026\""},
    {"file,date\na.csv,2026-03-14\n\nb.csv,2026-02-30\n", 4, "the date \"2026-02-30\""},
    {"file,condition\na.csv,broken\n", 2, "the condition \"broken\""},
    {"file,vehicle\n,17\n", 2, "neither a file nor a repair"},
    {"vehicle,date,repair\n17,2026-03-14,\n", 2, "neither a file nor a repair"},
    {"vehicle,date,repair\n,2026-03-14,cleaned\n", 2, "a repair needs"},
    {"vehicle,date,repair\n17,,cleaned\n", 2, "a repair needs"},
    {"file,vehicle\na.csv,17\nb.csv,18\na.csv,19\n", 4, "stands in line 2 already"},
    {"file,vehicle\na.csv,17\n./a.csv,19\n", 3, "stands in line 2 already"},
    {"", 0, "empty"},
};

static void slips_are_refused_with_their_line(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof REFUSALS / sizeof *REFUSALS; i++) {
    plag_manifest manifest;
    platelag_error error = {0};
    assert_int_equal(read_text(REFUSALS[i].text, &manifest, &error), PLATELAG_ERROR_INPUT);
    if (strstr(error.message, REFUSALS[i].why) == NULL || error.line != REFUSALS[i].line)
      fail_msg("manifest %zu: line %lld, \"%s\"", i, (long long)error.line, error.message);
    plag_manifest_clear(&manifest);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rows_are_found_by_the_ends_of_paths),
      cmocka_unit_test(rows_hold_what_was_written),
      cmocka_unit_test(repairs_are_those_of_rows_with_a_file_and_without),
      cmocka_unit_test(a_row_takes_few_bytes),
      cmocka_unit_test(a_failed_allocation_is_told),
      cmocka_unit_test(slips_are_refused_with_their_line),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
