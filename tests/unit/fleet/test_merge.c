/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One store into another: nothing is lost or doubled, the newer of two results and the later of two
 * sights stay, and nothing is left that no path leads to. */
#include "support/check.h"
#include "support/made_store.h"

#include <string.h>

static plag_test_store into, from;

static int set_up(void **state) {
  (void)state;
  plag_test_store_open(&into);
  plag_test_store_open(&from);
  return 0;
}

static int clear(void **state) {
  (void)state;
  plag_test_store_close(&into);
  plag_test_store_close(&from);
  return 0;
}

#define COUNT(TABLE) plag_test_store_count(&into, "SELECT COUNT(*) FROM " TABLE)

static void merge(void) {
  platelag_error error = {0};
  if (platelag_fleet_store_merge(into.store, from.store, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
}

static void change(plag_test_store *made, const char *sql) {
  assert_int_equal(
      plag_database_run(plag_store_database(made->store), sql, NULL, 0, NULL, NULL, NULL),
      PLATELAG_OK);
}

static void all_of_both_is_there(void **state) {
  (void)state;
  static const plag_test_log ours[] = {{.path = "a", .span_v = 2.4, .stick_band_pct = 3},
                                       {.path = "b", .span_v = 2.4}};
  static const plag_test_log theirs[] = {{.path = "b", .span_v = 2.4},
                                         {.path = "c", .span_v = 2.5}};
  plag_test_store_put(&into, ours, 2);
  plag_test_store_put(&from, theirs, 2);
  for (int i = 0; i < 2; i++) { /* again: nothing more */
    merge();
    assert_int_equal(COUNT("capture"), 3);
    assert_int_equal(COUNT("seen"), 3);
    assert_int_equal(COUNT("judged"), 3);
    assert_int_equal(COUNT("figure"), 4);
  }
  assert_int_equal(plag_test_store_count(&from, "SELECT COUNT(*) FROM capture"), 2);
}

/* More captures than are asked for at once. */
static void many_captures_come_over(void **state) {
  (void)state;
  static const plag_test_log log = {.span_v = 2.4};
  for (int i = 0; i < 517; i++)
    plag_test_store_put(&from, &log, 1);
  merge();
  assert_int_equal(COUNT("capture"), 517);
  assert_int_equal(COUNT("figure"), 517);
}

/* By number, not by letter: 0.10 is newer than 0.9. Statements are known by their address, so each
 * is a text of its own. */
static const struct version {
  const char *ours, *theirs, *kept;
  bool theirs_stays;
} VERSIONS[] = {{"UPDATE capture SET program = '0.9.0'", "UPDATE capture SET program = '0.10.0'",
                 "SELECT COUNT(*) FROM capture WHERE program = '0.10.0'", true},
                {"UPDATE capture SET program = '0.10.1'", "UPDATE capture SET program = '0.9.1'",
                 "SELECT COUNT(*) FROM capture WHERE program = '0.10.1'", false},
                {"UPDATE capture SET program = '1.2.3'", "UPDATE capture SET program = '1.2.3'",
                 "SELECT COUNT(*) FROM capture WHERE program = '1.2.3'", false}};

static void the_newer_program_s_result_stays(void **state) {
  (void)state;
  static const plag_test_log ours = {.path = "a", .finding = "sticking", .span_v = 2.4};
  static const plag_test_log theirs = {.path = "a", .finding = "slow"};
  for (size_t i = 0; i < sizeof VERSIONS / sizeof *VERSIONS; i++) {
    plag_test_store_put(&into, &ours, 1);
    plag_test_store_put(&from, &theirs, 1);
    change(&into, VERSIONS[i].ours);
    change(&from, VERSIONS[i].theirs);
    merge();
    assert_int_equal(plag_test_store_count(&into, VERSIONS[i].kept), 1);
    assert_int_equal(COUNT("judged"), 1);
    assert_int_equal(COUNT("judged WHERE finding = 'slow'"), VERSIONS[i].theirs_stays);
    assert_int_equal(COUNT("figure"), !VERSIONS[i].theirs_stays);
  }
}

static void the_later_sight_of_a_path_stays(void **state) {
  (void)state;
  static const plag_test_log ours[] = {{.path = "a", .content = "old", .vehicle = "17"},
                                       {.path = "b", .content = "new", .vehicle = "17"}};
  static const plag_test_log theirs[] = {{.path = "a", .content = "changed", .vehicle = "18"},
                                         {.path = "b", .content = "before", .vehicle = "18"}};
  plag_test_store_put(&into, ours, 2);
  plag_test_store_put(&from, theirs, 2);
  change(&into, "UPDATE seen SET modified_ns = 500");
  change(&from, "UPDATE seen SET modified_ns = 700 WHERE path = 'a'");
  change(&from, "UPDATE seen SET modified_ns = 300 WHERE path = 'b'");
  merge();
  assert_int_equal(COUNT("seen WHERE path = 'a' AND vehicle = '18'"), 1);
  assert_int_equal(COUNT("seen WHERE path = 'b' AND vehicle = '17'"), 1);
  assert_int_equal(COUNT("capture"), 2); /* those that no path leads to are gone */
  assert_int_equal(COUNT("judged"), 2);
}

static void repairs_and_troubles_come_along(void **state) {
  (void)state;
  plag_test_store_repair(&into, "2026-03-14,17,,plates cleaned\n");
  plag_test_store_repair(&from, "2026-03-14,17,,plates cleaned\n2026-04-14,18,bank 1,sensor\n");
  change(&into, "INSERT INTO trouble VALUES ('a', 'before')");
  change(&from, "INSERT INTO trouble VALUES ('a', 'after'), ('b', 'too')");
  merge();
  assert_int_equal(COUNT("repair"), 2);
  assert_int_equal(COUNT("trouble"), 2);
  assert_int_equal(COUNT("trouble WHERE path = 'a' AND why = 'after'"), 1);
}

/* A row that the tables refuse: all is as it was. */
static void a_failed_merge_changes_nothing(void **state) {
  (void)state;
  static const plag_test_log ours = {.path = "a"};
  static const plag_test_log theirs[] = {{.path = "b"}, {.path = "c"}};
  platelag_error error = {0};
  plag_test_store_put(&into, &ours, 1);
  plag_test_store_put(&from, theirs, 2);
  change(&from, "DROP TABLE trouble");
  change(&from, "CREATE TABLE trouble (path TEXT, why TEXT)");
  change(&from, "INSERT INTO trouble VALUES ('d', NULL)");
  assert_int_equal(platelag_fleet_store_merge(into.store, from.store, &error), PLATELAG_ERROR_IO);
  assert_int_equal(COUNT("capture"), 1);
  assert_int_equal(COUNT("seen"), 1);
  plag_test_store_put(&into, &theirs[0], 1); /* and the store goes on */
  assert_int_equal(COUNT("capture"), 2);
}

int main(void) {
#define FRESH(name) cmocka_unit_test_setup_teardown(name, set_up, clear)
  const struct CMUnitTest tests[] = {
      FRESH(all_of_both_is_there),
      FRESH(many_captures_come_over),
      FRESH(the_newer_program_s_result_stays),
      FRESH(the_later_sight_of_a_path_stays),
      FRESH(repairs_and_troubles_come_along),
      FRESH(a_failed_merge_changes_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
