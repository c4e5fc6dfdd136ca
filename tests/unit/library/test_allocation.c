/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every way into the library that makes or writes something, with each of its allocations failing
 * in turn: memory is what is named, and nothing is half made. What the tests of review, class and
 * fleet fail at greater length is not repeated here. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_capture.h"
#include "support/made_report.h"
#include "support/made_review.h"
#include "support/made_store.h"

#include <stdlib.h>
#include <zlib.h>
#include <zstd.h>

#include "fleet/manifest.h"
#include "platelag/platelag.h"

/* What the entries work on, made once. */
static struct {
  plag_test_scratch scratch;
  char capture[PLAG_TEST_PATH_BYTES], gzip[PLAG_TEST_PATH_BYTES], zstd[PLAG_TEST_PATH_BYTES];
  char utf16[PLAG_TEST_PATH_BYTES];
  char spec[PLAG_TEST_PATH_BYTES], rubric[PLAG_TEST_PATH_BYTES], manifest[PLAG_TEST_PATH_BYTES];
  platelag_workspace *workspace;
  platelag_review *review; /* of road and after, with a code and meter readings */
  platelag_capture *read;
  platelag_rubric *default_rubric;
  plag_test_store one, other;
  platelag_fleet *fleet;
} made;

static const platelag_sink *swallowing(void) {
  static platelag_sink sink;
  sink = plag_test_swallowing_sink();
  return &sink;
}

/* --- the entries: each makes and destroys, and checks that what failed made nothing ------------
 */

static platelag_status read_capture(const char *path, bool keep_none, platelag_error *error) {
  platelag_capture *capture = NULL;
  const platelag_read_options how = {.keep_none = keep_none};
  const platelag_status status = platelag_capture_read(path, &how, &capture, error);
  assert_int_equal(capture != NULL, status == PLATELAG_OK);
  platelag_capture_destroy(capture);
  return status;
}

static platelag_status read_plain(platelag_error *error) {
  return read_capture(made.capture, false, error);
}

static platelag_status read_summary(platelag_error *error) {
  return read_capture(made.capture, true, error);
}

static platelag_status read_gzip(platelag_error *error) {
  return read_capture(made.gzip, false, error);
}

static platelag_status read_zstd(platelag_error *error) {
  return read_capture(made.zstd, false, error);
}

static platelag_status read_utf16(platelag_error *error) {
  return read_capture(made.utf16, false, error);
}

static platelag_status make_spec(platelag_error *error) {
  platelag_spec *spec = NULL;
  platelag_status status = platelag_spec_create(&spec, error);
  assert_int_equal(spec != NULL, status == PLATELAG_OK);
  if (status == PLATELAG_OK)
    status = platelag_spec_set(spec, "command", "Runner duty of the second bank", error);
  if (status == PLATELAG_OK)
    status = platelag_spec_name_columns(spec, "Runner duty", "Runner position", error);
  platelag_spec_destroy(spec);
  return status;
}

static platelag_status read_spec(platelag_error *error) {
  platelag_spec *spec = NULL;
  const platelag_status status = platelag_spec_read(made.spec, &spec, error);
  assert_int_equal(spec != NULL, status == PLATELAG_OK);
  platelag_spec_destroy(spec);
  return status;
}

static platelag_status make_workspace(platelag_error *error) {
  platelag_workspace *workspace = NULL;
  const platelag_status status = platelag_workspace_create(&workspace, error);
  assert_int_equal(workspace != NULL, status == PLATELAG_OK);
  platelag_workspace_destroy(workspace);
  return status;
}

/* Road and after as one case, with all that a user can tell of a vehicle. */
static platelag_status review_case(platelag_review **out, platelag_error *error) {
  static const char *const codes[] = {"P2015", "P2004"};
  const platelag_review_file file[] = {
      {.path = made.capture, .condition = PLATELAG_CONDITION_ROAD},
      {.path = made.utf16, .condition = PLATELAG_CONDITION_AFTER},
      {.path = "/nowhere/at all.csv", .condition = PLATELAG_CONDITION_HAND_SWEEP}};
  const platelag_review_options how = {
      .circumstances = {.code = codes, .code_count = 2, .meter = {4.61, 5.02, 0.03, 13.9}}};
  const platelag_status status = platelag_review_build(file, 3, &how, made.workspace, out, error);
  assert_int_equal(*out != NULL, status == PLATELAG_OK);
  return status;
}

static platelag_status make_review(platelag_error *error) {
  platelag_review *review = NULL;
  const platelag_status status = review_case(&review, error);
  platelag_review_destroy(review);
  return status;
}

static platelag_status write_text(platelag_error *error) {
  return platelag_report_write_text(made.review, NULL, swallowing(), error);
}

static platelag_status write_json(platelag_error *error) {
  return platelag_report_write_json(made.review, swallowing(), error);
}

static platelag_status write_html(platelag_error *error) {
  return platelag_report_write_html(made.review, swallowing(), error);
}

static platelag_status write_columns(platelag_error *error) {
  return platelag_report_write_columns(made.read, NULL, swallowing(), error);
}

static platelag_status write_practice(platelag_error *error) {
  const platelag_practice_order order = {.fault = "sticking+dropouts",
                                         .seed = 83,
                                         .minutes = 0.1,
                                         .valves = 2,
                                         .extra_channels = 3,
                                         .layout = "clock_per_channel_german"};
  return platelag_practice_write(&order, swallowing(), swallowing(), error);
}

static platelag_status make_rubric(platelag_error *error) {
  platelag_rubric *rubric = NULL;
  const platelag_status status = platelag_rubric_create(&rubric, error);
  assert_int_equal(rubric != NULL, status == PLATELAG_OK);
  platelag_rubric_destroy(rubric);
  return status;
}

static platelag_status read_rubric(platelag_error *error) {
  platelag_rubric *rubric = NULL;
  const platelag_status status = platelag_rubric_read(made.rubric, &rubric, error);
  assert_int_equal(rubric != NULL, status == PLATELAG_OK);
  platelag_rubric_destroy(rubric);
  return status;
}

static platelag_status write_rubric(platelag_error *error) {
  return platelag_rubric_write(made.default_rubric, swallowing(), error);
}

static platelag_status read_manifest(platelag_error *error) {
  plag_manifest manifest = {0};
  const platelag_status status = plag_manifest_read(made.manifest, &manifest, error);
  plag_manifest_clear(&manifest);
  return status;
}

static platelag_status merge_stores(platelag_error *error) {
  return platelag_fleet_store_merge(made.one.store, made.other.store, error);
}

static platelag_status find_capture(platelag_error *error) {
  platelag_fleet_place place;
  return platelag_fleet_store_find(made.one.store, made.fleet->valve[0].last_key, &place, error);
}

static platelag_status write_fleet(platelag_error *error) {
  const platelag_fleet_page page = {.store = "fleet.db", .folder = "captures"};
  platelag_status status = platelag_fleet_write_html(made.fleet, &page, swallowing(), error);
  if (status == PLATELAG_OK)
    status = platelag_fleet_write_jsonl(made.fleet, swallowing(), error);
  return status;
}

static const struct {
  const char *what;
  platelag_status (*enter)(platelag_error *error);
  size_t least; /* allocations: fewer, and the entry is not what it was */
} ENTRIES[] = {
    {"a capture", read_plain, 10},
    {"a capture's summary", read_summary, 10},
    {"a capture in gzip", read_gzip, 10},
    {"a capture in zstd", read_zstd, 10},
    {"a capture in UTF-16", read_utf16, 10},
    {"a spec made by hand", make_spec, 1},
    {"a spec file", read_spec, 1},
    {"a workspace", make_workspace, 1},
    {"a review of a case", make_review, 100},
    {"its text", write_text, 10},
    {"its JSON", write_json, 5},
    {"its page", write_html, 10},
    {"how a capture was understood", write_columns, 5},
    {"a practice capture and its truth", write_practice, 20},
    {"the default rubric", make_rubric, 1},
    {"a rubric file", read_rubric, 1},
    {"a rubric written", write_rubric, 1},
    {"a manifest", read_manifest, 5},
    {"a store merged into another", merge_stores, 0},
    {"a capture found in a store", find_capture, 0},
    {"a fleet's page and lines", write_fleet, 50},
};

/* --- what they work on -------------------------------------------------------------------------
 */

static void put(const char *name, const char *bytes, size_t size, char path[PLAG_TEST_PATH_BYTES]) {
  plag_test_scratch_write(&made.scratch, name, bytes, size);
  (void)plag_test_scratch_path(&made.scratch, name, path);
}

static void put_packed(const plag_text *capture) {
  enum { ROOM = 1 << 18 };
  char *packed = malloc(ROOM);
  assert_non_null(packed);
  const size_t frame = ZSTD_compress(packed, ROOM, capture->bytes, capture->length, 3);
  assert_false(ZSTD_isError(frame));
  put("a.csv.zst", packed, frame, made.zstd);
  free(packed);
  (void)plag_test_scratch_path(&made.scratch, "a.csv.gz", made.gzip);
  gzFile file = gzopen(made.gzip, "wb");
  assert_int_equal(gzwrite(file, capture->bytes, (unsigned)capture->length), capture->length);
  assert_int_equal(gzclose(file), Z_OK);
}

static void put_captures(void) {
  made_capture capture = {0};
  platelag_practice_order order = {
      .fault = "sticking", .severity = 0.9, .seed = 1213, .minutes = 0.25, .channels = "few"};
  assert_true(made_capture_make(&capture, &order));
  put("a.csv", capture.capture.bytes, capture.capture.length, made.capture);
  put_packed(&capture.capture);
  order.condition = "after";
  order.layout = "utf16le_mark";
  assert_true(made_capture_make(&capture, &order));
  put("after.csv", capture.capture.bytes, capture.capture.length, made.utf16);
  made_capture_clear(&capture);
}

static void fill_stores(void) {
  static const plag_test_log logs[] = {
      {.vehicle = "17", .date = "2026-01-14", .stick_band_pct = 9.1, .finding = "sticking"},
      {.vehicle = "17", .date = "2026-02-14", .stick_band_pct = 11.3, .finding = "sticking"},
      {.vehicle = "18", .date = "2026-02-15", .stick_band_pct = 3.1, .closing_t63_s = 0.21},
  };
  plag_test_store_open(&made.one);
  plag_test_store_open(&made.other);
  plag_test_store_put(&made.one, logs, 3);
  plag_test_store_put(&made.other, logs, 2);
  assert_int_equal(platelag_fleet_build(made.one.store, NULL, &made.fleet, NULL), PLATELAG_OK);
}

static int make(void **state) {
  (void)state;
  platelag_library_start();
  put_captures();
  put("spec.ini", "[valve]\nclosed_v = 1.2\nopen_v = 3.7\n[valve bank 2]\ncommand = Duty B2\n", 0,
      made.spec);
  put("rubric.ini", "[length]\npoints = 7\nminutes = 2.5\n[finding]\npoints = 20\n", 0,
      made.rubric);
  put("manifest.csv",
      "file,vehicle,date,repair\na.csv,17,2026-01-14,\n,17,2026-02-01,plates cleaned\n", 0,
      made.manifest);
  assert_int_equal(platelag_workspace_create(&made.workspace, NULL), PLATELAG_OK);
  assert_int_equal(review_case(&made.review, NULL), PLATELAG_OK);
  assert_int_equal(platelag_capture_read(made.capture, NULL, &made.read, NULL), PLATELAG_OK);
  assert_int_equal(platelag_rubric_create(&made.default_rubric, NULL), PLATELAG_OK);
  fill_stores();
  return 0;
}

static int clear(void **state) {
  (void)state;
  platelag_fleet_destroy(made.fleet);
  plag_test_store_close(&made.one);
  plag_test_store_close(&made.other);
  platelag_rubric_destroy(made.default_rubric);
  platelag_capture_destroy(made.read);
  platelag_review_destroy(made.review);
  platelag_workspace_destroy(made.workspace);
  plag_test_scratch_clear(&made.scratch);
  return 0;
}

/* Enters with the `nth` allocation failing; returns whether it was reached. */
static bool fail_one(size_t entry, size_t nth) {
  platelag_error error = {0};
  plag_test_fail_allocation(nth);
  const platelag_status status = ENTRIES[entry].enter(&error);
  const bool failed = plag_test_allocation_failed();
  plag_test_fail_allocation(0);
  if (status != (failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK) || error.status != status)
    fail_msg("%s, allocation %zu %s: status %d, \"%s\"", ENTRIES[entry].what, nth,
             failed ? "failed" : "was not reached", (int)status, error.message);
  return failed;
}

/* How many allocations there are where nothing fails, watched. */
static size_t watch(size_t entry) {
  platelag_error error = {0};
  plag_test_watch_allocations();
  assert_int_equal(ENTRIES[entry].enter(&error), PLATELAG_OK);
  const size_t count = plag_test_allocation_count();
  plag_test_fail_allocation(0);
  return count;
}

static void each_allocation_that_fails_is_told(void **state) {
  (void)state;
  enum { MOST = 20000, MANY = 50 }; /* where there are many, most come through the same calls */
  for (size_t i = 0; i < sizeof ENTRIES / sizeof *ENTRIES; i++) {
    const size_t watched = ENTRIES[i].least >= MANY ? watch(i) : 0;
    size_t nth = 1;
    size_t failed = 0;
    for (bool reached = true; reached && nth < MOST; nth++) {
      if (nth <= watched && !plag_test_allocation_is_new(nth))
        continue;
      reached = fail_one(i, nth);
      failed += reached;
    }
    print_message("%s: %zu allocations, %zu failed\n", ENTRIES[i].what, nth - 2, failed);
    assert_in_range(nth - 2, ENTRIES[i].least, MOST - 2);
    assert_in_range(failed, ENTRIES[i].least / 2, MOST - 2);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(each_allocation_that_fails_is_told)};
  return cmocka_run_group_tests(tests, make, clear);
}
