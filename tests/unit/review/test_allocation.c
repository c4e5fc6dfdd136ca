/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whichever allocation fails on the road from bytes to a report, memory is what the review names,
 * nothing is half made, and the next review with the same workspace is as if nothing had been. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_capture.h"
#include "support/made_review.h"

#include "platelag/platelag.h"

static const platelag_practice_order ROWS[] = {
    {.fault = "sticking", .seed = 613, .minutes = 0.29},
    {.fault = "dropouts",
     .seed = 614,
     .minutes = 0.19,
     .valves = 2,
     .command = "desired_and_duty",
     .layout = "german_semicolon"},
    {.fault = "none", .seed = 615, .minutes = 0.17, .layout = "clock_per_channel"},
    {.fault = "ridge", .seed = 616, .minutes = 0.16, .layout = "long_form_french"},
    {.fault = "open_wire", .seed = 617, .minutes = 0.13, .layout = "sparse_rows"},
};

/* The road with the `nth` allocation failing; `report` is left as told when it does not. With 0 the
 * allocations are watched. */
static size_t walk(const made_capture *made, size_t nth, platelag_workspace *workspace,
                   plag_text *report) {
  platelag_review *review = NULL;
  platelag_error error = {0};
  if (nth == 0)
    plag_test_watch_allocations();
  else
    plag_test_fail_allocation(nth);
  const platelag_status status =
      plag_test_review(made->capture.bytes, made->capture.length, NULL, workspace, &review, &error);
  const size_t count = plag_test_allocation_count();
  const bool failed = plag_test_allocation_failed();
  plag_test_fail_allocation(0);
  if (status != (failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK))
    fail_msg("allocation %zu of the road %s: status %d, \"%s\"", nth,
             failed ? "failed" : "was not reached", (int)status, error.message);
  assert_int_equal(error.status, status);
  assert_int_equal(review == NULL, failed);
  if (!failed)
    plag_test_review_tell(review, report);
  platelag_review_destroy(review);
  return count;
}

static void a_failed_allocation_is_told(void **state) {
  (void)state;
  platelag_library_start();
  for (size_t row = 0; row < sizeof ROWS / sizeof *ROWS; row++) {
    made_capture made = {0};
    plag_text whole = {0};
    plag_text after = {0};
    platelag_workspace *workspace = NULL;
    platelag_error error = {0};
    assert_true(made_capture_make(&made, &ROWS[row]));
    assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
    /* First with a fresh workspace, whose own allocations then belong to the road. */
    const size_t count = walk(&made, 0, workspace, &whole);
    assert_true(count > 50);
    size_t failed = 0;
    for (size_t nth = 1; nth <= count; nth++) {
      if (!plag_test_allocation_is_new(nth))
        continue;
      failed++;
      platelag_workspace_destroy(workspace);
      workspace = NULL;
      assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
      (void)walk(&made, nth, workspace, &after);
    }
    (void)walk(&made, 0, workspace, &after);
    assert_string_equal(after.bytes, whole.bytes);
    print_message("%s, seed %llu: %zu allocations, %zu failed\n", ROWS[row].fault,
                  (unsigned long long)ROWS[row].seed, count, failed);
    platelag_workspace_destroy(workspace);
    plag_text_clear(&whole);
    plag_text_clear(&after);
    made_capture_clear(&made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_failed_allocation_is_told)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
