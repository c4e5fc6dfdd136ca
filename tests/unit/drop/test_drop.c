/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the drop page calls, here with a page made of memory: the calls come to what the library
 * does, and with each allocation failing in turn memory is what is named and the next call goes on.
 */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_capture.h"

/* The marks by which the engine is linked mean nothing to this compiler, and what it exports for
 * the page has no header. */
#pragma GCC diagnostic ignored "-Wattributes"
#pragma GCC diagnostic ignored "-Wmissing-prototypes"
#include "drop/drop.c"

/* --- the page ----------------------------------------------------------------------------------
 */

enum { FILES = 3 };

static made_capture captures[FILES];
static size_t read_to[FILES];
static plag_text *page; /* what was written; NULL: nobody reads */

int page_read(int index, void *bytes, int size) {
  const plag_text *file = &captures[index].capture;
  const size_t left = file->length - read_to[index];
  const size_t got = left < (size_t)size ? left : (size_t)size;
  memcpy(bytes, file->bytes + read_to[index], got);
  read_to[index] += got;
  return (int)got;
}

void page_write(const char *bytes, int size) {
  if (page != NULL)
    plag_text_add_bytes(page, bytes, (size_t)size);
}

static int make(void **state) {
  (void)state;
  platelag_practice_order order = {
      .fault = "sticking", .severity = 0.9, .seed = 1213, .minutes = 0.2, .channels = "few"};
  assert_true(made_capture_make(&captures[0], &order));
  order.condition = "after";
  assert_true(made_capture_make(&captures[1], &order));
  plag_text_add(&captures[2].capture, "Time (s),Fuel trim (%)\n0,1\n1,2\n2,3\n");
  return 0;
}

static int clear(void **state) {
  (void)state;
  for (size_t i = 0; i < FILES; i++)
    made_capture_clear(&captures[i]);
  return 0;
}

/* --- a vehicle ---------------------------------------------------------------------------------
 */

static int write_all(drop *d) {
  int status = drop_write_html(d);
  if (status == 0)
    status = drop_write_json(d);
  for (int i = 0; i < drop_captures(d) && status == 0; i++) {
    status = drop_write_columns(d, i);
    drop_write_channels(d, i);
  }
  return status;
}

/* All that a page does of a vehicle; the first status that is not 0. */
static int visit(drop *d) {
  static const platelag_condition conditions[FILES] = {
      PLATELAG_CONDITION_ROAD, PLATELAG_CONDITION_AFTER, PLATELAG_CONDITION_HAND_SWEEP};
  static const char *const names[FILES] = {"road.csv", "after.csv", "other.csv"};
  int status = drop_set(d, "closed_v", "1.13");
  if (status == 0)
    status = drop_set(d, "code", "P2015");
  if (status == 0)
    status = drop_set(d, "meter", "signal=4.61,reference=5.02");
  for (int i = 0; i < FILES && status == 0; i++)
    status = drop_add(d, i, (int)conditions[i], names[i]);
  if (status == 0)
    status = drop_review(d);
  read_to[2] = 0; /* the page begins a file anew that is looked at again */
  return status == 0 ? write_all(d) : status;
}

static bool walk(size_t nth, plag_text *out) {
  memset(read_to, 0, sizeof read_to);
  plag_test_fail_allocation(nth);
  drop *d = drop_begin();
  const int status = d != NULL ? visit(d) : PLATELAG_ERROR_MEMORY;
  const bool failed = plag_test_allocation_failed();
  plag_test_fail_allocation(0);
  if (status != (failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK))
    fail_msg("allocation %zu %s: status %d, \"%s\"", nth, failed ? "failed" : "was not reached",
             status, d != NULL ? d->error.message : "");
  if (out != NULL && d != NULL) {
    page = out;
    drop_message(d);
    page = NULL;
  }
  drop_end(d);
  return failed;
}

static void a_vehicle_is_reviewed_and_written(void **state) {
  (void)state;
  plag_text out = {0};
  drop *d = drop_begin();
  assert_non_null(d);
  page = &out;
  memset(read_to, 0, sizeof read_to);
  assert_int_equal(visit(d), PLATELAG_OK);
  page = NULL;
  assert_int_equal(drop_captures(d), FILES);
  assert_int_equal(drop_cases(d), 1);
  assert_int_equal(drop_refusal(d, 0), PLATELAG_OK);
  assert_int_equal(drop_refusal(d, 2), PLATELAG_ERROR_INPUT);
  assert_int_equal(drop_file(d, 1), 1);
  assert_non_null(strstr(out.bytes, "Fuel trim"));
  assert_non_null(strstr(out.bytes, "\"schema\": \"platelag.review/1\""));
  drop_end(d);
  plag_text_clear(&out);
}

static void what_makes_no_sense_is_refused(void **state) {
  (void)state;
  drop *d = drop_begin();
  assert_non_null(d);
  assert_int_equal(drop_set(d, "closed_v", "much"), PLATELAG_ERROR_INPUT);
  assert_int_equal(drop_set(d, "rows_per_second", "fast"), PLATELAG_ERROR_USAGE);
  assert_int_equal(drop_set(d, "code", "a code longer than any"), PLATELAG_ERROR_USAGE);
  assert_int_equal(drop_add(d, 0, PLATELAG_CONDITION_AFTER + 1, "a.csv"), PLATELAG_ERROR_USAGE);
  for (int i = 0; i < CAPTURES_MOST; i++)
    assert_int_equal(drop_add(d, 0, PLATELAG_CONDITION_ROAD, "a.csv"), PLATELAG_OK);
  assert_int_equal(drop_add(d, 0, PLATELAG_CONDITION_ROAD, "a.csv"), PLATELAG_ERROR_USAGE);
  drop_end(d);
}

static void each_allocation_that_fails_is_told(void **state) {
  (void)state;
  plag_text message = {0};
  size_t nth = 1;
  for (bool failed = true; failed; nth++)
    failed = walk(nth, &message);
  assert_in_range(nth, 100, 5000);
  assert_non_null(strstr(message.bytes, "memory"));
  print_message("%zu allocations, each failed\n", nth - 2);
  plag_text_clear(&message);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_vehicle_is_reviewed_and_written),
      cmocka_unit_test(what_makes_no_sense_is_refused),
      cmocka_unit_test(each_allocation_that_fails_is_told),
  };
  return cmocka_run_group_tests(tests, make, clear);
}
