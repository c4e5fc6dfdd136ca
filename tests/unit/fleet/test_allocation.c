/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whichever allocation fails while a fleet is judged, ranked and written, memory is what is named,
 * no capture is half in the store, and the next run comes to what an undisturbed one does. What
 * SQLite allocates is its own (tests/support/failing_memory.h). */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_capture.h"
#include "support/made_store.h"

#include <string.h>

#include "core/error.h"
#include "platelag/platelag.h"

static plag_test_scratch fleet_files;

static void make(const char *name, const char *fault, uint64_t seed) {
  made_capture capture = {0};
  const platelag_practice_order order = {.fault = fault, .seed = seed, .minutes = 0.12};
  assert_true(made_capture_make(&capture, &order));
  plag_test_scratch_write(&fleet_files, name, capture.capture.bytes, capture.capture.length);
  made_capture_clear(&capture);
}

static int make_fleet(void **state) {
  (void)state;
  platelag_library_start();
  make("17/2026-03-14.csv", "none", 911);
  make("17/2026-04-14.csv", "sticking", 912);
  make("18/2026-03-15.csv", "open_wire", 913);
  plag_test_scratch_write(&fleet_files, "18/2026-03-16.csv", "nothing but words\n", 0);
  return 0;
}

static int clear_fleet(void **state) {
  (void)state;
  plag_test_scratch_clear(&fleet_files);
  return 0;
}

static platelag_status run(plag_test_store *made, platelag_error *error) {
  const char *const path[] = {fleet_files.folder};
  const platelag_fleet_work work = {
      .path = path, .path_count = 1, .jobs = 1, .pattern = "{vehicle}/{date}.csv"};
  platelag_fleet_counts counts;
  return platelag_fleet_run(made->store, &work, &counts, error);
}

static platelag_status add(void *context, const char *bytes, size_t size, platelag_error *error) {
  plag_text *out = context;
  plag_text_add_bytes(out, bytes, size);
  return out->failed ? plag_error_memory(error, "the test's text") : PLATELAG_OK;
}

/* Ranks and writes in every format; `out` holds what was written. */
static platelag_status report(plag_test_store *made, plag_text *out, platelag_error *error) {
  const platelag_sink sink = {.context = out, .write = add};
  platelag_fleet *fleet = NULL;
  platelag_fleet_logs *logs = NULL;
  plag_text_clear(out);
  platelag_status status = platelag_fleet_build(made->store, NULL, &fleet, error);
  assert_int_equal(fleet != NULL, status == PLATELAG_OK);
  if (status == PLATELAG_OK)
    status = platelag_fleet_write_text(fleet, NULL, 0, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_fleet_write_csv(fleet, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_fleet_write_jsonl(fleet, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_fleet_write_metrics(fleet, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_fleet_logs_build(fleet, 0, &logs, error);
  assert_int_equal(logs != NULL, status == PLATELAG_OK);
  platelag_fleet_logs_destroy(logs);
  platelag_fleet_destroy(fleet);
  return status;
}

static void expect(platelag_status status, const platelag_error *error, size_t nth) {
  const bool failed = plag_test_allocation_failed();
  plag_test_fail_allocation(0);
  if (status != (failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK) || error->status != status)
    fail_msg("allocation %zu %s: status %d, \"%s\"", nth, failed ? "failed" : "did not fail",
             (int)status, error->message);
}

static int64_t count(plag_test_store *made, const char *sql) {
  return plag_test_store_count(made, sql);
}

/* Every capture that is there has all of its rows. */
static void expect_whole_captures(plag_test_store *made) {
  assert_int_equal(count(made, "SELECT COUNT(*) FROM capture WHERE state = 'judged' AND key NOT IN "
                               "(SELECT key FROM judged)"),
                   0);
  assert_int_equal(
      count(made, "SELECT COUNT(*) FROM judged WHERE key NOT IN (SELECT key FROM capture)"), 0);
  assert_int_equal(
      count(made, "SELECT COUNT(*) FROM judged WHERE key NOT IN (SELECT key FROM figure)"), 0);
  assert_int_equal(
      count(made, "SELECT COUNT(*) FROM seen WHERE key NOT IN (SELECT key FROM capture)"), 0);
  assert_int_equal(count(made, "SELECT COUNT(*) FROM trouble"), 0);
}

/* What an undisturbed run comes to, and how many allocations it takes, which are watched. */
static size_t undisturbed(plag_text *out) {
  plag_test_store made;
  platelag_error error = {0};
  plag_test_store_open(&made);
  plag_test_watch_allocations();
  assert_int_equal(run(&made, &error), PLATELAG_OK);
  const size_t allocations = plag_test_allocation_count();
  plag_test_fail_allocation(0);
  assert_int_equal(count(&made, "SELECT COUNT(*) FROM capture"), 4);
  expect_whole_captures(&made);
  assert_int_equal(report(&made, out, &error), PLATELAG_OK);
  plag_test_store_close(&made);
  return allocations;
}

static void a_run_without_memory_leaves_whole_captures(void **state) {
  (void)state;
  plag_text whole = {0};
  plag_text again = {0};
  const size_t allocations = undisturbed(&whole);
  size_t failed = 0;
  for (size_t nth = 1; nth <= allocations; nth++) {
    if (!plag_test_allocation_is_new(nth))
      continue;
    plag_test_store made;
    platelag_error error = {0};
    plag_test_store_open(&made);
    plag_test_fail_allocation(nth);
    const platelag_status status = run(&made, &error);
    expect(status, &error, nth);
    expect_whole_captures(&made);
    error = (platelag_error){0};
    if (failed++ % 7 == 0) { /* the rest is judged, and all is as if nothing had been */
      assert_int_equal(run(&made, &error), PLATELAG_OK);
      assert_int_equal(report(&made, &again, &error), PLATELAG_OK);
      assert_string_equal(again.bytes, whole.bytes);
    }
    plag_test_store_close(&made);
  }
  print_message("%zu allocations, %zu failed\n", allocations, failed);
  plag_text_clear(&whole);
  plag_text_clear(&again);
}

static void a_report_without_memory_says_so(void **state) {
  (void)state;
  plag_test_store made;
  plag_text whole = {0};
  plag_text again = {0};
  platelag_error error = {0};
  plag_test_store_open(&made);
  assert_int_equal(run(&made, &error), PLATELAG_OK);
  plag_test_store_repair(&made, "2026-04-01,17,,plates cleaned\n2026-05-01,18,,new wire\n");
  assert_int_equal(report(&made, &whole, &error), PLATELAG_OK);
  plag_test_watch_allocations();
  assert_int_equal(report(&made, &again, &error), PLATELAG_OK);
  const size_t allocations = plag_test_allocation_count();
  size_t failed = 0;
  for (size_t nth = 1; nth <= allocations; nth++) {
    if (!plag_test_allocation_is_new(nth))
      continue;
    failed++;
    error = (platelag_error){0};
    plag_test_fail_allocation(nth);
    const platelag_status status = report(&made, &again, &error);
    assert_true(plag_test_allocation_failed());
    expect(status, &error, nth);
  }
  print_message("%zu allocations, %zu failed\n", allocations, failed);
  assert_true(failed > 50);
  assert_int_equal(report(&made, &again, &error), PLATELAG_OK);
  assert_string_equal(again.bytes, whole.bytes);
  plag_text_clear(&whole);
  plag_text_clear(&again);
  plag_test_store_close(&made);
}

static platelag_status open_to_fill(const char *path, platelag_fleet_store **out,
                                    platelag_error *error) {
  return platelag_fleet_store_open(path, true, out, error);
}

static void a_store_without_memory_is_not_opened(void **state) {
  (void)state;
  platelag_status (*const opens[])(const char *path, platelag_fleet_store **out,
                                   platelag_error *error) = {open_to_fill,
                                                             platelag_fleet_store_open_to_read};
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  (void)plag_test_scratch_path(&scratch, "fleet.db", path);
  for (size_t i = 0; i < sizeof opens / sizeof *opens; i++) {
    size_t nth = 0;
    for (bool failed = true; failed;) {
      platelag_fleet_store *store = NULL;
      platelag_error error = {0};
      plag_test_fail_allocation(++nth);
      const platelag_status status = opens[i](path, &store, &error);
      failed = plag_test_allocation_failed();
      expect(status, &error, nth);
      assert_int_equal(store == NULL, failed);
      platelag_fleet_store_close(store);
    }
    assert_true(nth > 4);
  }
  plag_test_scratch_clear(&scratch);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_store_without_memory_is_not_opened),
      cmocka_unit_test(a_report_without_memory_says_so),
      cmocka_unit_test(a_run_without_memory_leaves_whole_captures),
  };
  return cmocka_run_group_tests(tests, make_fleet, clear_fleet);
}
