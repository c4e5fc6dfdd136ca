/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * "Cannot tell" earns all where the capture cannot tell: practice captures at idle of every kind of
 * vehicle; and nothing where a whole drive does tell. */
#include "support/check.h"
#include "support/made_capture.h"
#include "support/made_class.h"

#include <math.h>

#include "mark/rubric.h"
#include "platelag/platelag.h"

static const struct {
  platelag_practice_order order;
  const char *key;
} ROWS[] = {
    {{.fault = "sticking", .severity = 0.83, .seed = 2411, .minutes = 3.7}, "sticking"},
    {{.fault = "slow", .severity = 0.91, .seed = 2417, .minutes = 4.1}, "slow"},
    {{.fault = "none", .seed = 2423, .minutes = 3.3}, "free"},
    {{.fault = "ridge", .severity = 0.77, .seed = 2437, .minutes = 3.9}, "sticking"},
};

/* What "cannot tell" earns of a capture of the row, driven so. */
static const platelag_submission *mark(plag_test_class *made, size_t row, const char *driving) {
  made_capture capture = {0};
  platelag_practice_order order = ROWS[row].order;
  plag_text key = {0};
  platelag_error error = {0};
  order.driving = driving;
  assert_true(made_capture_make(&capture, &order));
  plag_test_class_record(made, "a.csv", capture.capture.bytes);
  plag_text_add_format(&key, "vehicle,finding\ncart 1,%s\n", ROWS[row].key);
  if (plag_test_class_build(made, key.bytes,
                            "student,vehicle,file,finding,family\n"
                            "A,cart 1,a.csv,Cannot tell,undecided\n",
                            NULL, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  plag_text_clear(&key);
  made_capture_clear(&capture);
  return plag_test_class_of(made, "A");
}

static void at_idle_it_earns_all(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_test_class made = {0};
    const platelag_submission *is = mark(&made, i, "idle");
    const platelag_mark *finding = &is->mark[PLAG_CRITERION_FINDING];
    const platelag_mark *family = &is->mark[PLAG_CRITERION_FAMILY];
    if (is->decidable || finding->points < finding->of || family->points < family->of)
      fail_msg("%s, seed %llu: %g and %g, %s", ROWS[i].order.fault,
               (unsigned long long)ROWS[i].order.seed, finding->points, family->points,
               is->sentence);
    plag_test_class_clear(&made);
  }
}

static void of_a_whole_drive_it_earns_nothing(void **state) {
  (void)state;
  for (size_t i = 0; i < 2; i++) {
    plag_test_class made = {0};
    const platelag_submission *is = mark(&made, i, NULL);
    assert_true(is->decidable);
    assert_close(is->mark[PLAG_CRITERION_FINDING].points, 0, 0, 0);
    assert_close(is->mark[PLAG_CRITERION_FAMILY].points, 0, 0, 0);
    plag_test_class_clear(&made);
  }
}

int main(void) {
  platelag_library_start();
  const struct CMUnitTest tests[] = {cmocka_unit_test(at_idle_it_earns_all),
                                     cmocka_unit_test(of_a_whole_drive_it_earns_nothing)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
