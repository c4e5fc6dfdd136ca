/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The library used from several threads at once: each reviews captures with a workspace of its own,
 * makes practice captures, marks a class and judges a fleet, while all read one spec, one capture,
 * one review and one rubric. What comes out is, to the byte, what one thread alone makes. */
#include "support/check.h"
#include "support/made_capture.h"
#include "support/made_report.h"
#include "support/made_review.h"
#include "support/scratch.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>

#include "platelag/platelag.h"

enum { THREADS = 4, CAPTURES = 4, TASKS = 8, ROUNDS = 2 };

/* What all threads read; nothing of it changes while they run. */
static struct {
  plag_test_scratch scratch;
  char path[CAPTURES][PLAG_TEST_PATH_BYTES];
  char key[PLAG_TEST_PATH_BYTES], answers[PLAG_TEST_PATH_BYTES];
  platelag_spec *spec;
  platelag_capture *capture;
  platelag_review *review;
  platelag_rubric *rubric;
  platelag_workspace *workspace; /* the shared review's */
} shared;

static const platelag_practice_order ORDERS[CAPTURES] = {
    {.fault = "sticking", .severity = 0.9, .seed = 311, .minutes = 0.9, .channels = "few"},
    {.fault = "dropouts", .seed = 313, .minutes = 0.7, .layout = "german_semicolon", .valves = 2},
    {.fault = "ridge", .seed = 317, .minutes = 0.6, .layout = "clock_per_channel"},
    {.fault = "none", .seed = 331, .minutes = 0.5, .layout = "utf16le", .command = "on_off"},
};

/* --- tasks: each writes what it came to; PLATELAG_OK or what failed ----------------------------
 */

typedef struct own {
  platelag_workspace *workspace;
  size_t thread, round;
} own;

static platelag_status write_review(const platelag_review *review, plag_text *out,
                                    platelag_error *error) {
  const platelag_sink sink = plag_test_text_sink(out);
  platelag_status status = platelag_report_write_text(review, NULL, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_report_write_json(review, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_report_write_html(review, &sink, error);
  return status;
}

static platelag_status review_one(const own *of, size_t which, plag_text *out,
                                  platelag_error *error) {
  const platelag_review_file file = {.path = shared.path[which]};
  const platelag_review_options how = {.spec = shared.spec,
                                       .circumstances = {.meter = PLATELAG_METER_NONE}};
  platelag_review *review = NULL;
  platelag_status status = platelag_review_build(&file, 1, &how, of->workspace, &review, error);
  if (status == PLATELAG_OK)
    status = write_review(review, out, error);
  platelag_review_destroy(review);
  return status;
}

static platelag_status report_shared(const own *of, size_t which, plag_text *out,
                                     platelag_error *error) {
  const platelag_sink sink = plag_test_text_sink(out);
  (void)of;
  (void)which;
  const platelag_status status = write_review(shared.review, out, error);
  return status == PLATELAG_OK ? platelag_report_write_columns(shared.capture, NULL, &sink, error)
                               : status;
}

static platelag_status make_practice(const own *of, size_t which, plag_text *out,
                                     platelag_error *error) {
  const platelag_sink sink = plag_test_text_sink(out);
  (void)of;
  return platelag_practice_write(&ORDERS[which % CAPTURES], &sink, &sink, error);
}

static platelag_status mark_class(const own *of, size_t which, plag_text *out,
                                  platelag_error *error) {
  const platelag_sink sink = plag_test_text_sink(out);
  const platelag_mark_work work = {.key = shared.key,
                                   .answers = shared.answers,
                                   .rubric = shared.rubric,
                                   .folder = shared.scratch.folder,
                                   .spec = shared.spec};
  platelag_class *marked = NULL;
  (void)of;
  (void)which;
  platelag_status status = platelag_class_build(&work, &marked, error);
  if (status == PLATELAG_OK)
    status = platelag_class_write_html(marked, &sink, error);
  platelag_class_destroy(marked);
  return status;
}

static platelag_status write_fleet(platelag_fleet_store *store, plag_text *out,
                                   platelag_error *error) {
  const platelag_sink sink = plag_test_text_sink(out);
  platelag_fleet *fleet = NULL;
  platelag_status status = platelag_fleet_build(store, shared.spec, &fleet, error);
  if (status == PLATELAG_OK)
    status = platelag_fleet_write_jsonl(fleet, &sink, error);
  platelag_fleet_destroy(fleet);
  return status;
}

/* A store of the thread's own, and two workers of that run. */
static platelag_status judge_fleet(const own *of, size_t which, plag_text *out,
                                   platelag_error *error) {
  char name[64];
  char path[PLAG_TEST_PATH_BYTES];
  const char *const folder[] = {shared.scratch.folder};
  const platelag_fleet_work work = {
      .path = folder, .path_count = 1, .jobs = 2, .spec = shared.spec};
  platelag_fleet_store *store = NULL;
  platelag_fleet_counts counts;
  (void)which;
  (void)snprintf(name, sizeof name, "fleet-%zu-%zu.db", of->thread, of->round);
  (void)plag_test_scratch_path(&shared.scratch, name, path);
  platelag_status status = platelag_fleet_store_open(path, true, &store, error);
  if (status == PLATELAG_OK)
    status = platelag_fleet_run(store, &work, &counts, error);
  if (status == PLATELAG_OK)
    status = write_fleet(store, out, error);
  platelag_fleet_store_close(store);
  return status;
}

static const struct {
  platelag_status (*do_it)(const own *of, size_t which, plag_text *out, platelag_error *error);
  size_t which;
} WORK[TASKS] = {
    {review_one, 0},    {review_one, 1},    {review_one, 2}, {review_one, 3},
    {report_shared, 0}, {make_practice, 1}, {mark_class, 0}, {judge_fleet, 0},
};

/* --- threads -----------------------------------------------------------------------------------
 */

static plag_text alone[TASKS]; /* what one thread makes */

typedef struct worker {
  own own;
  size_t differs; /* tasks that came to something else */
  platelag_error error;
} worker;

static void *work_through(void *context) {
  worker *w = context;
  for (w->own.round = 1; w->own.round <= ROUNDS; w->own.round++)
    for (size_t i = 0; i < TASKS; i++) {
      const size_t task = (i + 2 * w->own.thread) % TASKS; /* each begins elsewhere */
      plag_text out = {0};
      const platelag_status status = WORK[task].do_it(&w->own, WORK[task].which, &out, &w->error);
      w->differs += status != PLATELAG_OK || out.length != alone[task].length ||
                    memcmp(out.bytes, alone[task].bytes, out.length) != 0;
      plag_text_clear(&out);
    }
  return NULL;
}

static void threads_come_to_what_one_does(void **state) {
  (void)state;
  worker workers[THREADS] = {0};
  pthread_t thread[THREADS];
  for (size_t i = 0; i < THREADS; i++) {
    workers[i].own.thread = i + 1;
    assert_int_equal(platelag_workspace_create(&workers[i].own.workspace, NULL), PLATELAG_OK);
  }
  for (size_t i = 0; i < THREADS; i++)
    assert_int_equal(pthread_create(&thread[i], NULL, work_through, &workers[i]), 0);
  for (size_t i = 0; i < THREADS; i++)
    assert_int_equal(pthread_join(thread[i], NULL), 0);
  for (size_t i = 0; i < THREADS; i++) {
    if (workers[i].differs > 0)
      fail_msg("thread %zu: %zu tasks came to something else; %s", i, workers[i].differs,
               workers[i].error.message);
    platelag_workspace_destroy(workers[i].own.workspace);
  }
}

/* --- what they work on -------------------------------------------------------------------------
 */

static void put_captures(void) {
  for (size_t i = 0; i < CAPTURES; i++) {
    char name[32];
    made_capture made = {0};
    assert_true(made_capture_make(&made, &ORDERS[i]));
    (void)snprintf(name, sizeof name, "%zu.csv", i);
    plag_test_scratch_write(&shared.scratch, name, made.capture.bytes, made.capture.length);
    (void)plag_test_scratch_path(&shared.scratch, name, shared.path[i]);
    made_capture_clear(&made);
  }
}

static void put_tables(void) {
  plag_test_scratch_write(&shared.scratch, "key.tab",
                          "vehicle,finding\ncart 1,sticking\ncart 2,free\n", 0);
  plag_test_scratch_write(&shared.scratch, "answers.tab",
                          "student,vehicle,file,finding\nA,cart 1,0.csv,sticking\n"
                          "B,cart 1,0.csv,free\nC,cart 2,3.csv,free\n",
                          0);
  (void)plag_test_scratch_path(&shared.scratch, "key.tab", shared.key);
  (void)plag_test_scratch_path(&shared.scratch, "answers.tab", shared.answers);
}

static int make(void **state) {
  (void)state;
  platelag_library_start();
  put_captures();
  put_tables();
  assert_int_equal(platelag_spec_create(&shared.spec, NULL), PLATELAG_OK);
  assert_int_equal(platelag_spec_set(shared.spec, "stick_band_limit_pct", "9.5", NULL),
                   PLATELAG_OK);
  assert_int_equal(platelag_rubric_create(&shared.rubric, NULL), PLATELAG_OK);
  assert_int_equal(platelag_workspace_create(&shared.workspace, NULL), PLATELAG_OK);
  assert_int_equal(platelag_capture_read(shared.path[1], NULL, &shared.capture, NULL), PLATELAG_OK);
  const platelag_review_file files[] = {
      {.path = shared.path[0]}, {.path = shared.path[2], .condition = PLATELAG_CONDITION_AFTER}};
  assert_int_equal(platelag_review_build(files, 2, NULL, shared.workspace, &shared.review, NULL),
                   PLATELAG_OK);
  const own of = {.workspace = shared.workspace};
  for (size_t i = 0; i < TASKS; i++) {
    platelag_error error = {0};
    if (WORK[i].do_it(&of, WORK[i].which, &alone[i], &error) != PLATELAG_OK)
      fail_msg("task %zu: %s", i, error.message);
    assert_true(alone[i].length > 100);
  }
  return 0;
}

static int clear(void **state) {
  (void)state;
  for (size_t i = 0; i < TASKS; i++)
    plag_text_clear(&alone[i]);
  platelag_review_destroy(shared.review);
  platelag_capture_destroy(shared.capture);
  platelag_workspace_destroy(shared.workspace);
  platelag_rubric_destroy(shared.rubric);
  platelag_spec_destroy(shared.spec);
  plag_test_scratch_clear(&shared.scratch);
  return 0;
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(threads_come_to_what_one_does)};
  return cmocka_run_group_tests(tests, make, clear);
}
