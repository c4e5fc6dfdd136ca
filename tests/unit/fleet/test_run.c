/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A run judges what is new, knows what it knows, tells what it cannot read, and is not ended by any
 * capture. */
#include "support/check.h"
#include "support/made_capture.h"
#include "support/made_store.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "platelag/platelag.h"

static plag_test_store made;
static plag_test_scratch fleet;

static int set_up(void **state) {
  (void)state;
  platelag_library_start();
  plag_test_store_open(&made);
  return 0;
}

static int clear(void **state) {
  (void)state;
  plag_test_store_close(&made);
  plag_test_scratch_clear(&fleet);
  return 0;
}

#define COUNT(TABLE) plag_test_store_count(&made, "SELECT COUNT(*) FROM " TABLE)

static void make(const char *name, const char *fault, uint64_t seed) {
  made_capture capture = {0};
  const platelag_practice_order order = {.fault = fault, .seed = seed, .minutes = 0.3};
  assert_true(made_capture_make(&capture, &order));
  plag_test_scratch_write(&fleet, name, capture.capture.bytes, capture.capture.length);
  made_capture_clear(&capture);
}

static platelag_fleet_counts run(const platelag_fleet_work *work) {
  platelag_fleet_work all = *work;
  const char *const path[] = {fleet.folder};
  platelag_fleet_counts counts;
  platelag_error error = {0};
  if (all.path_count == 0) {
    all.path = path;
    all.path_count = 1;
  }
  if (platelag_fleet_run(made.store, &all, &counts, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  return counts;
}

/* judged, known, refused, troubled, elsewhere, left out */
static void expect(platelag_fleet_counts counts, const size_t expected[6]) {
  const size_t is[] = {counts.judged,   counts.known,     counts.refused,
                       counts.troubled, counts.elsewhere, counts.left_out};
  size_t sum = 0;
  for (int i = 0; i < 6; i++) {
    if (is[i] != expected[i])
      fail_msg("count %d: %zu, expected %zu", i, is[i], expected[i]);
    sum += i < 5 ? is[i] : 0;
  }
  assert_int_equal(counts.seen, sum);
}

static void make_fleet(void) {
  make("17/2026-03-14.csv", "none", 811);
  make("18/2026-03-15_after.csv", "sticking", 812);
  plag_test_scratch_write(&fleet, "18/note.txt", "nothing but words\n", 0);
  plag_test_scratch_write(&fleet, "18/photo.jpg", "x", 0);
}

static void a_second_run_knows_what_the_first_did(void **state) {
  (void)state;
  const platelag_fleet_work work = {.jobs = 2};
  char path[PLAG_TEST_PATH_BYTES];
  char other[PLAG_TEST_PATH_BYTES];
  make_fleet();
  expect(run(&work), (const size_t[]){2, 0, 1, 0, 0, 1});
  expect(run(&work), (const size_t[]){0, 3, 0, 0, 0, 1});
  /* moved: read, and known by its content */
  assert_int_equal(rename(plag_test_scratch_path(&fleet, "17/2026-03-14.csv", path),
                          plag_test_scratch_path(&fleet, "moved.csv", other)),
                   0);
  expect(run(&work), (const size_t[]){0, 3, 0, 0, 0, 1});
  assert_int_equal(COUNT("judged"), 2);
  assert_int_equal(COUNT("seen"), 3); /* its old place is forgotten */
  assert_int_equal(COUNT("seen WHERE path LIKE '%/moved.csv'"), 1);
  /* changed: judged, and what it held before is forgotten */
  make("moved.csv", "none", 813);
  expect(run(&work), (const size_t[]){1, 2, 0, 0, 0, 1});
  assert_int_equal(COUNT("judged"), 2);
  /* gone for good: its results are kept */
  assert_int_equal(unlink(other), 0);
  expect(run(&work), (const size_t[]){0, 2, 0, 0, 0, 1});
  assert_int_equal(COUNT("judged"), 2);
}

static void another_spec_or_condition_judges_again(void **state) {
  (void)state;
  platelag_spec *spec = NULL;
  make_fleet();
  platelag_fleet_work work = {.jobs = 2};
  expect(run(&work), (const size_t[]){2, 0, 1, 0, 0, 1});
  assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
  work.spec = spec; /* the defaults said aloud: the same settings */
  assert_int_equal(run(&work).outdated, 0);
  work.rows_per_second = 10;
  platelag_fleet_counts counts = run(&work);
  expect(counts, (const size_t[]){0, 3, 0, 0, 0, 1});
  assert_int_equal(counts.outdated, 3);
  work.redo = true;
  expect(run(&work), (const size_t[]){2, 0, 1, 0, 0, 1});
  expect(run(&work), (const size_t[]){0, 3, 0, 0, 0, 1});
  work.pattern = "{vehicle}/{date}_{condition}.csv"; /* taken after a repair: another judgement */
  expect(run(&work), (const size_t[]){1, 2, 0, 0, 0, 1});
  assert_int_equal(COUNT("seen WHERE condition = 'after' AND key LIKE '%-after'"), 1);
  assert_int_equal(COUNT("judged"), 2);
  platelag_spec_destroy(spec);
}

static void shards_part_the_captures(void **state) {
  (void)state;
  make_fleet();
  make("19/a.csv", "none", 814);
  make("20/a.csv", "none", 815);
  size_t judged = 0;
  for (unsigned shard = 1; shard <= 3; shard++) {
    const platelag_fleet_work work = {.jobs = 2, .shard = shard, .shards = 3};
    const platelag_fleet_counts counts = run(&work);
    assert_int_equal(counts.seen, 5);
    judged += counts.judged + counts.refused;
  }
  assert_int_equal(judged, 5);
  const platelag_fleet_work all = {.jobs = 2};
  assert_int_equal(run(&all).known, 5);
}

static void troubles_are_told_and_end(void **state) {
  (void)state;
  char path[PLAG_TEST_PATH_BYTES];
  const platelag_fleet_work work = {.jobs = 2};
  make("a.csv", "none", 816);
  (void)plag_test_scratch_path(&fleet, "pipe.csv", path);
  assert_int_equal(mkfifo(path, 0600), 0);
  const char *const named[] = {fleet.folder, path};
  const platelag_fleet_work with_pipe = {.path = named, .path_count = 2, .jobs = 2};
  expect(run(&with_pipe), (const size_t[]){1, 0, 0, 1, 0, 1});
  assert_int_equal(COUNT("trouble WHERE why = 'no plain file'"), 1);
  assert_int_equal(unlink(path), 0);
  expect(run(&work), (const size_t[]){0, 1, 0, 0, 0, 0});
  assert_int_equal(COUNT("trouble"), 0); /* it is gone */
  /* a file that is there clears its own */
  (void)plag_test_scratch_path(&fleet, "a.csv", path);
  const plag_value at[] = {plag_string(path)};
  assert_int_equal(plag_database_run(plag_store_database(made.store),
                                     "INSERT INTO trouble VALUES ($1, 'Permission denied')", at, 1,
                                     NULL, NULL, NULL),
                   PLATELAG_OK);
  expect(run(&work), (const size_t[]){0, 1, 0, 0, 0, 0});
  assert_int_equal(COUNT("trouble"), 0);
}

static const struct slip {
  platelag_fleet_work work;
  platelag_status status;
  const char *why;
} SLIPS[] = {
    {{.pattern = "{vehicle}/{x}"}, PLATELAG_ERROR_USAGE, "unknown word"},
    {{.manifest = "/nowhere/m.csv"}, PLATELAG_ERROR_NOT_FOUND, "No such file"},
};

static void slips_are_told_before_any_work(void **state) {
  (void)state;
  make("a.csv", "none", 817);
  const char *const path[] = {fleet.folder};
  for (size_t i = 0; i < sizeof SLIPS / sizeof *SLIPS; i++) {
    platelag_fleet_work work = SLIPS[i].work;
    platelag_fleet_counts counts;
    platelag_error error = {0};
    work.path = path;
    work.path_count = 1;
    assert_int_equal(platelag_fleet_run(made.store, &work, &counts, &error), SLIPS[i].status);
    assert_non_null(strstr(error.message, SLIPS[i].why));
    assert_int_equal(counts.seen, 0);
  }
  const char *const gone[] = {fleet.folder, "/nowhere/at all"};
  const platelag_fleet_work work = {.path = gone, .path_count = 2};
  platelag_fleet_counts counts;
  platelag_error error = {0};
  assert_int_equal(platelag_fleet_run(made.store, &work, &counts, &error),
                   PLATELAG_ERROR_NOT_FOUND);
  assert_string_equal(error.file, "/nowhere/at all");
  assert_int_equal(COUNT("seen"), 0);
}

typedef struct watch {
  size_t calls, last_total, last_seen, stop_at;
} watch;

static void watch_progress(void *context, const platelag_fleet_counts *counts) {
  watch *w = context;
  w->calls++;
  assert_true(counts->seen >= w->last_seen);
  w->last_seen = counts->seen;
  w->last_total = counts->total;
}

static bool stops(void *context) {
  const watch *w = context;
  return w->stop_at > 0 && w->last_seen >= w->stop_at;
}

static void progress_counts_and_a_stop_keeps_what_is_done(void **state) {
  (void)state;
  char name[32];
  for (uint64_t i = 0; i < 90; i++) { /* more than the queue holds */
    (void)snprintf(name, sizeof name, "f%02d.csv", (int)i);
    plag_test_scratch_write(&fleet, name, name, 0); /* refused at once, each another content */
  }
  watch w = {.stop_at = 5};
  const platelag_fleet_work work = {
      .jobs = 1, .progress = watch_progress, .stopped = stops, .context = &w};
  const platelag_fleet_counts first = run(&work);
  assert_between((double)first.refused, 5, 89);
  assert_int_equal(COUNT("seen"), first.refused);
  w = (watch){0};
  const platelag_fleet_counts second = run(&work);
  assert_int_equal(second.known, first.refused);
  assert_int_equal(second.refused, 90 - first.refused);
  assert_int_equal(w.last_total, 90);
  assert_int_equal(w.last_seen, 90);
  assert_true(w.calls >= 90);
}

int main(void) {
#define FRESH(name) cmocka_unit_test_setup_teardown(name, set_up, clear)
  const struct CMUnitTest tests[] = {
      FRESH(a_second_run_knows_what_the_first_did),
      FRESH(another_spec_or_condition_judges_again),
      FRESH(shards_part_the_captures),
      FRESH(troubles_are_told_and_end),
      FRESH(slips_are_told_before_any_work),
      FRESH(progress_counts_and_a_stop_keeps_what_is_done),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
