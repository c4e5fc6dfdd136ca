/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The store holds each capture once by its content, all of it or nothing, under the places where it
 * was seen, and forgets what no place leads to. */
#include "support/check.h"
#include "support/made_store.h"

#include <stdio.h>
#include <string.h>

#include "fleet/digest.h"

static plag_test_store made;

#define COUNT(TABLE) plag_test_store_count(&made, "SELECT COUNT(*) FROM " TABLE)

static plag_seen seen_of(const char *path, const plag_place *place) {
  plag_seen seen;
  assert_int_equal(plag_store_find_seen(made.store, path, place, &seen, NULL), PLATELAG_OK);
  return seen;
}

static void a_capture_is_known_by_path_and_by_content(void **state) {
  (void)state;
  static const plag_test_log log = {.path = "a.csv",
                                    .content = "bytes",
                                    .vehicle = "17",
                                    .engine = "2.0",
                                    .date = "2026-03-14",
                                    .stick_band_pct = 3.7,
                                    .span_v = 2.48};
  plag_test_store_put(&made, &log, 1);
  assert_int_equal(COUNT("capture"), 1);
  assert_int_equal(COUNT("judged"), 1);
  assert_int_equal(COUNT("figure"), 2);
  plag_place place = {.vehicle = "17", .engine = "2.0", .dated = true, .at_unix_s = 1773446400};
  const plag_seen seen = seen_of("a.csv", &place);
  assert_true(seen.found && seen.same_place && !seen.troubled);
  assert_int_equal(seen.bytes, 4711);
  char key[PLAG_DIGEST_BYTES];
  plag_digest_text("bytes", 5, key);
  assert_string_equal(seen.key, key);
  assert_false(seen_of("b.csv", &place).found);
  plag_content content;
  assert_int_equal(plag_store_find_content(made.store, key, "made", &content, NULL), PLATELAG_OK);
  assert_true(content.found && content.current);
  assert_int_equal(plag_store_find_content(made.store, key, "other", &content, NULL), PLATELAG_OK);
  assert_true(content.found && !content.current);
  assert_int_equal(plag_store_find_content(made.store, "ff", "made", &content, NULL), PLATELAG_OK);
  assert_false(content.found);
}

static void another_place_is_told(void **state) {
  (void)state;
  static const plag_test_log log = {
      .path = "a.csv", .vehicle = "17", .engine = "2.0", .date = "2026-03-14"};
  const plag_place same = {
      .vehicle = "17", .engine = "2.0", .dated = true, .at_unix_s = 1773446400};
  plag_test_store_put(&made, &log, 1);
  assert_true(seen_of("a.csv", &same).same_place);
  plag_place other[] = {same, same, same, same, same};
  other[0].vehicle = "18";
  other[1].engine = "";
  other[2].dated = false;
  other[3].at_unix_s++;
  other[4].condition = PLATELAG_CONDITION_AFTER;
  for (size_t i = 0; i < sizeof other / sizeof *other; i++)
    assert_false(seen_of("a.csv", &other[i]).same_place);
}

static void putting_again_replaces(void **state) {
  (void)state;
  static const plag_test_log logs[] = {
      {.path = "a.csv", .content = "x", .finding = "sticking", .stick_band_pct = 14, .span_v = 2.4},
      {.path = "a.csv", .content = "x", .finding = "free", .stick_band_pct = 3.1}};
  plag_test_store_put(&made, logs, 2);
  assert_int_equal(COUNT("capture"), 1);
  assert_int_equal(COUNT("seen"), 1);
  assert_int_equal(COUNT("judged WHERE finding = 'free'"), 1);
  assert_int_equal(COUNT("judged"), 1);
  assert_int_equal(COUNT("figure"), 1);
}

static void one_content_under_two_paths_is_judged_once(void **state) {
  (void)state;
  static const plag_test_log logs[] = {{.path = "b.csv", .content = "x"},
                                       {.path = "a.csv", .content = "x"}};
  plag_test_store_put(&made, logs, 2);
  assert_int_equal(COUNT("seen"), 2);
  assert_int_equal(COUNT("judged"), 1);
}

static void what_no_path_leads_to_is_forgotten(void **state) {
  (void)state;
  static const plag_test_log logs[] = {{.path = "a.csv", .content = "before", .span_v = 2.4},
                                       {.path = "b.csv", .content = "kept", .span_v = 2.5},
                                       {.path = "a.csv", .content = "after", .span_v = 2.6}};
  plag_test_store_put(&made, logs, 3);
  assert_int_equal(COUNT("capture"), 3);
  assert_int_equal(plag_store_forget_orphans(made.store, NULL), PLATELAG_OK);
  assert_int_equal(COUNT("capture"), 2);
  assert_int_equal(COUNT("judged"), 2);
  assert_int_equal(COUNT("figure WHERE value < 2.45"), 0);
}

static void put_state(plag_result_state state, const char *path, const char *why,
                      bool place_is_new) {
  plag_result *result = plag_result_create(path);
  plag_digest_text(path, strlen(path), result->key);
  result->state = state;
  result->why = why;
  result->place_is_new = place_is_new;
  result->place = (plag_place){.vehicle = "17", .engine = ""};
  assert_int_equal(plag_store_put(made.store, result, NULL), PLATELAG_OK);
  assert_int_equal(plag_store_commit(made.store, NULL), PLATELAG_OK);
  plag_result_destroy(result);
}

static void refusals_are_kept_and_troubles_end(void **state) {
  (void)state;
  const plag_place place = {.vehicle = "17", .engine = ""};
  put_state(PLAG_RESULT_REFUSED, "r.csv", "line 3: no position", false);
  assert_int_equal(COUNT("capture WHERE state = 'refused' AND why = 'line 3: no position'"), 1);
  assert_int_equal(COUNT("judged"), 0);
  put_state(PLAG_RESULT_TROUBLED, "r.csv", "Input/output error", false);
  put_state(PLAG_RESULT_TROUBLED, "t.csv", "Permission denied", false);
  put_state(PLAG_RESULT_TROUBLED, "t.csv", "Input/output error", false);
  assert_int_equal(COUNT("trouble"), 2);
  assert_int_equal(COUNT("trouble WHERE why = 'Input/output error'"), 2);
  assert_true(seen_of("r.csv", &place).troubled);
  assert_false(seen_of("t.csv", &place).found);
  put_state(PLAG_RESULT_KNOWN, "r.csv", "", true); /* it can be read again */
  put_state(PLAG_RESULT_JUDGED, "t.csv", "", false);
  assert_int_equal(COUNT("trouble"), 0);
  put_state(PLAG_RESULT_ELSEWHERE, "e.csv", "", false);
  put_state(PLAG_RESULT_KNOWN, "k.csv", "", false);
  assert_int_equal(COUNT("seen"), 2);
}

static void troubles_that_are_over_are_forgotten(void **state) {
  (void)state;
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&made.scratch, "there.csv", "x", 0);
  put_state(PLAG_RESULT_TROUBLED, plag_test_scratch_path(&made.scratch, "there.csv", path),
            "Permission denied", false);
  put_state(PLAG_RESULT_TROUBLED, plag_test_scratch_path(&made.scratch, "gone.csv", path), "gone",
            false);
  put_state(PLAG_RESULT_TROUBLED, plag_test_scratch_path(&made.scratch, "", path),
            "a folder that can be opened", false);
  assert_int_equal(plag_store_forget_troubles(made.store, NULL), PLATELAG_OK);
  assert_int_equal(COUNT("trouble WHERE path LIKE '%/there.csv'"), 1);
  assert_int_equal(COUNT("trouble"), 1);
}

/* A result that the tables refuse: nothing of it, and nothing of the open transaction, stays; what
 * was committed does, and the store goes on. */
static void a_failed_result_leaves_nothing(void **state) {
  (void)state;
  static const plag_test_log log = {.path = "a.csv"};
  platelag_error error = {0};
  plag_test_store_put(&made, &log, 1);
  plag_result *result = plag_result_create("b.csv");
  plag_digest_text("b", 1, result->key);
  result->place = (plag_place){.vehicle = "", .engine = ""};
  result->judged = plag_arena_take_array(&result->arena, 2, sizeof *result->judged);
  for (int i = 0; i < 2; i++) { /* the same valve of the same run twice */
    result->judged[i] =
        (plag_judged){.run_label = "", .valve = "valve", .sentence = "", .next_test = ""};
    for (size_t k = 0; k < PLAG_FIGURE_COUNT; k++)
      result->judged[i].figure[k] = (platelag_estimate){PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  }
  result->judged_count = 2;
  assert_int_equal(plag_store_put(made.store, result, &error), PLATELAG_ERROR_IO);
  assert_int_equal(plag_store_commit(made.store, NULL), PLATELAG_OK);
  assert_int_equal(COUNT("capture"), 1);
  assert_int_equal(COUNT("seen"), 1);
  result->judged_count = 1;
  assert_int_equal(plag_store_put(made.store, result, NULL), PLATELAG_OK);
  assert_int_equal(plag_store_commit(made.store, NULL), PLATELAG_OK);
  assert_int_equal(COUNT("judged"), 2);
  plag_result_destroy(result);
}

static void repairs_are_the_manifest_s(void **state) {
  (void)state;
  plag_manifest silent = {0};
  plag_test_store_repair(&made, "2026-03-14,17,,plates cleaned\n2026-03-14,17,,plates cleaned\n"
                                "2026-04-02,17,bank 1,new sensor\n");
  assert_int_equal(COUNT("repair"), 2);
  assert_int_equal(plag_store_put_repairs(made.store, &silent, NULL), PLATELAG_OK);
  assert_int_equal(COUNT("repair"), 2);
  plag_test_store_repair(&made, "2026-05-02,18,,new actuator\n");
  assert_int_equal(COUNT("repair WHERE vehicle = '18' AND what = 'new actuator'"), 1);
  assert_int_equal(COUNT("repair"), 1);
}

static void put_keyed(const char *key, const char *path, platelag_condition condition) {
  plag_result *result = plag_result_create(path);
  (void)snprintf(result->key, sizeof result->key, "%s", key);
  result->place = (plag_place){.vehicle = "", .engine = "", .condition = condition};
  assert_int_equal(plag_store_put(made.store, result, NULL), PLATELAG_OK);
  plag_result_destroy(result);
}

static const struct asked {
  const char *key;
  platelag_status status;
  const char *path; /* or part of why not */
} ASKED[] = {
    {"aa07", PLATELAG_OK, "a1.csv"},
    {"aa07c", PLATELAG_OK, "a1.csv"},
    {"aa", PLATELAG_ERROR_USAGE, "3 captures"},
    {"", PLATELAG_ERROR_USAGE, "5 captures"},
    {"ab", PLATELAG_OK, "b.csv"}, /* a whole key, and the front of another */
    {"ab-", PLATELAG_OK, "b2.csv"},
    {"ab-after", PLATELAG_OK, "b2.csv"},
    {"ab-after-all", PLATELAG_ERROR_NOT_FOUND, "no capture"},
    {"b", PLATELAG_ERROR_NOT_FOUND, "no capture"},
    {"~", PLATELAG_ERROR_NOT_FOUND, "no capture"},
    {"aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1aa07c1",
     PLATELAG_ERROR_NOT_FOUND, "no capture"},
};

static void captures_are_found_by_the_front_of_their_keys(void **state) {
  (void)state;
  put_keyed("aa07c1", "a2.csv", PLATELAG_CONDITION_ROAD);
  put_keyed("aa07c1", "a1.csv", PLATELAG_CONDITION_ROAD);
  put_keyed("aa07c1", "a3.csv", PLATELAG_CONDITION_ROAD);
  put_keyed("aa11", "c1.csv", PLATELAG_CONDITION_ROAD);
  put_keyed("aa11", "c2.csv", PLATELAG_CONDITION_ROAD);
  put_keyed("aa12", "d.csv", PLATELAG_CONDITION_ROAD);
  put_keyed("ab", "b.csv", PLATELAG_CONDITION_ROAD);
  put_keyed("ab-after", "b2.csv", PLATELAG_CONDITION_AFTER);
  assert_int_equal(plag_store_commit(made.store, NULL), PLATELAG_OK);
  for (size_t i = 0; i < sizeof ASKED / sizeof *ASKED; i++) {
    platelag_fleet_place place;
    platelag_error error = {0};
    const platelag_status status =
        platelag_fleet_store_find(made.store, ASKED[i].key, &place, &error);
    if (status != ASKED[i].status ||
        strstr(status == PLATELAG_OK ? place.path : error.message, ASKED[i].path) == NULL)
      fail_msg("\"%s\": %d, %s %s", ASKED[i].key, (int)status, place.path, error.message);
  }
  platelag_fleet_place place;
  assert_int_equal(platelag_fleet_store_find(made.store, "ab-", &place, NULL), PLATELAG_OK);
  assert_int_equal(place.condition, PLATELAG_CONDITION_AFTER);
}

static void a_store_is_opened_again(void **state) {
  (void)state;
  char path[PLAG_TEST_PATH_BYTES];
  platelag_error error = {0};
  static const plag_test_log logs[] = {{.path = "a.csv"}, {.path = "b.csv"}};
  plag_test_store_put(&made, logs, 2);
  platelag_fleet_store_close(made.store);
  made.store = NULL;
  (void)plag_test_scratch_path(&made.scratch, "fleet.db", path);
  assert_int_equal(platelag_fleet_store_open(path, false, &made.store, NULL), PLATELAG_OK);
  assert_int_equal(COUNT("seen"), 2);
  /* one of a later program */
  assert_int_equal(plag_database_run(plag_store_database(made.store),
                                     "UPDATE store SET value = 2 WHERE name = 'schema'", NULL, 0,
                                     NULL, NULL, NULL),
                   PLATELAG_OK);
  platelag_fleet_store_close(made.store);
  assert_int_equal(platelag_fleet_store_open(path, false, &made.store, &error),
                   PLATELAG_ERROR_INPUT);
  assert_non_null(strstr(error.message, "use a newer one"));
  assert_null(made.store);
}

int main(void) {
#define FRESH(name) plag_test_on_store(name, &made)
  const struct CMUnitTest tests[] = {
      FRESH(a_capture_is_known_by_path_and_by_content),
      FRESH(another_place_is_told),
      FRESH(putting_again_replaces),
      FRESH(one_content_under_two_paths_is_judged_once),
      FRESH(what_no_path_leads_to_is_forgotten),
      FRESH(refusals_are_kept_and_troubles_end),
      FRESH(troubles_that_are_over_are_forgotten),
      FRESH(a_failed_result_leaves_nothing),
      FRESH(repairs_are_the_manifest_s),
      FRESH(captures_are_found_by_the_front_of_their_keys),
      FRESH(a_store_is_opened_again),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
