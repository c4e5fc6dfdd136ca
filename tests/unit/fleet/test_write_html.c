/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page of the samples as a fleet: the same to the byte each time, every valve and every file
 * that was refused in it, nothing asked for from outside, and told when memory or the sink gives
 * out. */
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/text.h"
#include "platelag/platelag.h"
#include "support/failing_memory.h"
#include "support/made_report.h"

static char store_name[] = "/tmp/platelag-page-XXXXXX";
static platelag_fleet_store *store;
static platelag_fleet *fleet;
static const platelag_fleet_page page = {.folder = "captures", .store = "f.db"};

static int judge_samples(void **state) {
  (void)state;
  static const char *const path[] = {PLATELAG_SAMPLES};
  const platelag_fleet_work work = {
      .path = path, .path_count = 1, .pattern = "{vehicle}-{}.csv", .jobs = 1};
  platelag_fleet_counts counts;
  platelag_error error = {0};
  platelag_library_start();
  const int handle = mkstemp(store_name);
  assert_true(handle >= 0);
  close(handle);
  remove(store_name);
  assert_int_equal(platelag_fleet_store_open(store_name, true, &store, &error), PLATELAG_OK);
  assert_int_equal(platelag_fleet_run(store, &work, &counts, &error), PLATELAG_OK);
  assert_true(counts.judged > 12);
  assert_int_equal(platelag_fleet_build(store, NULL, &fleet, &error), PLATELAG_OK);
  return 0;
}

static int forget_samples(void **state) {
  (void)state;
  platelag_fleet_destroy(fleet);
  platelag_fleet_store_close(store);
  remove(store_name);
  return 0;
}

static size_t count_of(const char *text, const char *what) {
  size_t count = 0;
  for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what))
    count++;
  return count;
}

static void all_valves_are_in_it_and_nothing_from_outside(void **state) {
  (void)state;
  static const char *const outside[] = {"src=",    "href=\"h", "href=\"/", "url(",
                                        "@import", "<link",    "<img",     "unsafe"};
  plag_text out = {0}, again = {0};
  const platelag_sink sink = plag_test_text_sink(&out), other = plag_test_text_sink(&again);
  assert_int_equal(platelag_fleet_write_html(fleet, &page, &sink, NULL), PLATELAG_OK);
  assert_int_equal(platelag_fleet_write_html(fleet, &page, &other, NULL), PLATELAG_OK);
  assert_string_equal(out.bytes, again.bytes);
  assert_int_equal(count_of(out.bytes, "<tbody"),
                   fleet->valve_count + 1 + (fleet->trouble_count > 0));
  assert_int_equal(count_of(out.bytes, "<tr class=\"more\">"), fleet->valve_count);
  assert_non_null(strstr(out.bytes, "content=\"default-src 'none'; script-src 'sha256-"));
  assert_non_null(strstr(out.bytes, "</body>\n</html>\n"));
  for (size_t i = 0; i < sizeof outside / sizeof outside[0]; i++)
    if (strstr(out.bytes, outside[i]) != NULL)
      fail_msg("%s stands in the page", outside[i]);
  plag_text_clear(&out);
  plag_text_clear(&again);
}

static void what_gives_out_is_told(void **state) {
  (void)state;
  const platelag_sink swallowing = plag_test_swallowing_sink();
  const platelag_sink full = plag_test_full_sink();
  enum { MOST_ALLOCATIONS = 100000 };
  platelag_error error = {0};
  assert_int_equal(platelag_fleet_write_html(fleet, &page, &full, &error), PLATELAG_ERROR_IO);
  size_t nth = 1;
  for (bool reached = true; reached && nth < MOST_ALLOCATIONS; nth++) {
    error = (platelag_error){0};
    plag_test_fail_allocation(nth);
    const platelag_status status = platelag_fleet_write_html(fleet, &page, &swallowing, &error);
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(status, reached ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    assert_int_equal(error.status, status);
  }
  assert_true(nth > 60 && nth < MOST_ALLOCATIONS);
  print_message("%zu allocations, each failed\n", nth - 2);
}

static void an_empty_store_makes_a_page(void **state) {
  (void)state;
  const platelag_fleet empty = {0};
  plag_text out = {0};
  const platelag_sink sink = plag_test_text_sink(&out);
  assert_int_equal(platelag_fleet_write_html(&empty, &(platelag_fleet_page){0}, &sink, NULL),
                   PLATELAG_OK);
  assert_non_null(strstr(out.bytes, "The store holds no judged capture."));
  plag_text_clear(&out);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_valves_are_in_it_and_nothing_from_outside),
      cmocka_unit_test(what_gives_out_is_told),
      cmocka_unit_test(an_empty_store_makes_a_page),
  };
  return cmocka_run_group_tests(tests, judge_samples, forget_samples);
}
