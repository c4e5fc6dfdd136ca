/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The manifest finds its rows by the ends of paths, and whoever keeps it learns the line of each
 * slip. */
#include "support/check.h"
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
  assert_int_equal(manifest.row_count, 5);
  assert_int_equal(manifest.file_count, 4);
  assert_true(manifest.tells_repairs);
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    const plag_manifest_row *row = plag_manifest_find(&manifest, ROWS[i].path);
    if ((row == NULL) != (ROWS[i].vehicle == NULL) ||
        (row != NULL && strcmp(row->vehicle, ROWS[i].vehicle) != 0))
      fail_msg("%s: %s", ROWS[i].path, row != NULL ? row->vehicle : "none");
  }
  plag_manifest_clear(&manifest);
}

static void rows_hold_what_was_written(void **state) {
  (void)state;
  plag_manifest manifest;
  assert_int_equal(read_text(WHOLE, &manifest, NULL), PLATELAG_OK);
  const plag_manifest_row *row = plag_manifest_find(&manifest, "bus 17/late.csv");
  assert_non_null(row);
  assert_string_equal(row->engine, "2.0");
  assert_string_equal(row->repair, "new sensor");
  assert_string_equal(row->valve, "");
  assert_true(row->dated && row->condition_given);
  assert_int_equal(row->at_unix_s, 1775088000); /* date -u -d 2026-04-02 +%s */
  assert_int_equal(row->condition, PLATELAG_CONDITION_AFTER);
  assert_int_equal(row->line, 6);
  row = plag_manifest_find(&manifest, "bus 17/monday.csv");
  assert_false(row->condition_given);
  row = plag_manifest_find(&manifest, "tour/x.csv");
  assert_true(!row->dated && row->condition_given);
  assert_int_equal(row->condition, PLATELAG_CONDITION_ROAD);
  row = &manifest.row[4]; /* those without a file stand last */
  assert_string_equal(row->repair, "plates cleaned");
  assert_string_equal(row->valve, "bank 1");
  plag_manifest_clear(&manifest);
  assert_int_equal(read_text("file,vehicle\na.csv,17\n", &manifest, NULL), PLATELAG_OK);
  assert_false(manifest.tells_repairs);
  plag_manifest_clear(&manifest);
  assert_int_equal(read_text("repair,vehicle,date\n", &manifest, NULL), PLATELAG_OK);
  assert_null(plag_manifest_find(&manifest, "a.csv"));
  plag_manifest_clear(&manifest);
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
      cmocka_unit_test(slips_are_refused_with_their_line),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
