/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whichever allocation fails while a trace is lined up, it is told and nothing is half made. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_recording.h"

#include <math.h>

#include "line_up/line_up.h"

enum { ROWS = 240, MOST_ALLOCATIONS = 200 };

/* A position with holes (so that it is copied), a desired position and a duty (so that notes are
 * written). */
static void make(plag_test_recording *made) {
  double time_s[ROWS], level[ROWS], desired[ROWS], duty[ROWS];
  for (int i = 0; i < ROWS; i++) {
    time_s[i] = 0.2 * i;
    desired[i] = (i / 31) % 2 == 0 ? 7.5 : 88.0;
    duty[i] = desired[i] * 0.6 + 3.0 * sin(i);
    level[i] = i % 50 == 17 ? NAN : 1.2 + 0.025 * desired[i] + 0.003 * sin(7.0 * i);
  }
  plag_test_recording_add(
      made, (plag_test_head){"Flap pos", "V", PLATELAG_UNIT_VOLT, PLATELAG_ROLE_POSITION, 0, 0.9},
      time_s, level, ROWS);
  plag_test_recording_add(
      made,
      (plag_test_head){"Flap target", "%", PLATELAG_UNIT_PERCENT, PLATELAG_ROLE_DESIRED, 0, 0.9},
      time_s, desired, ROWS);
  plag_test_recording_add(
      made,
      (plag_test_head){"Flap duty", "%", PLATELAG_UNIT_PERCENT, PLATELAG_ROLE_COMMAND, 0, 0.9},
      time_s, duty, ROWS);
}

static void a_failed_allocation_is_told(void **state) {
  (void)state;
  plag_test_recording made = {0};
  make(&made);
  platelag_spec *spec = NULL;
  assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
  size_t nth = 1;
  for (bool reached = true; reached && nth < MOST_ALLOCATIONS; nth++) {
    platelag_trace *trace = NULL;
    platelag_error error = {0};
    plag_test_fail_allocation(nth);
    const platelag_status status =
        plag_line_up(&made.recording, 0, spec, PLATELAG_CONDITION_ROAD, &trace, &error);
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(status, reached ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    assert_int_equal(error.status, status);
    assert_int_equal(trace == NULL, reached);
    platelag_trace_destroy(trace);
  }
  assert_true(nth > 5 && nth < MOST_ALLOCATIONS);
  platelag_spec_destroy(spec);
  plag_test_recording_clear(&made);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_failed_allocation_is_told)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
