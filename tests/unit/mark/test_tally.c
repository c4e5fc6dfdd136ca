/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a class's marks add up to, and the advice that is worth most, on marks that were summed by
 * hand. */
#include "support/check.h"

#include "mark/advice.h"
#include "mark/tally.h"
#include "support/made_marks.h"

static const struct {
  size_t criterion, applied, full, dearest;
  double mean_share, mean_lost;
} expected[] = {
    {PLAG_CRITERION_FINDING, 3, 2, 1, 50.0 / 75, 25.0 / 3},
    {PLAG_CRITERION_FAMILY, 2, 1, 0, (1 + 3.5 / 15) / 2, 11.5 / 2},
    {PLAG_CRITERION_LENGTH, 3, 2, 1, (2.3 / 4 + 2) / 3, 1.7 / 3},
};

static void criteria_that_cost_most_come_first(void **state) {
  (void)state;
  plag_test_marks made;
  plag_test_marks_make(&made);
  const plag_tally tally = plag_tally_take(&made.book.marked);
  assert_int_equal(tally.marked, 3);
  assert_int_equal(tally.unmarked, 1);
  assert_int_equal(tally.remarks, 1);
  assert_int_equal(tally.criterion_count, sizeof expected / sizeof expected[0]);
  for (size_t i = 0; i < tally.criterion_count; i++) {
    const plag_criterion_tally *one = &tally.criterion[i];
    assert_int_equal(one->criterion, expected[i].criterion);
    assert_int_equal(one->applied, expected[i].applied);
    assert_int_equal(one->full, expected[i].full);
    assert_int_equal(one->dearest, expected[i].dearest);
    assert_close(one->mean_share, expected[i].mean_share, 1e-12, 0);
    assert_close(one->mean_lost, expected[i].mean_lost, 1e-12, 0);
  }
  plag_test_marks_clear(&made);
}

/* 96.1, 17.0 and 100 %; others at the edges of the steps. */
static void percents_fall_into_their_steps(void **state) {
  static const struct {
    double percent;
    size_t bin;
  } steps[] = {{0, 0},  {9.999, 0}, {10, 1},  {38.5, 3},
               {70, 7}, {89.99, 8}, {100, 9}, {100.0000001, 9}};
  (void)state;
  plag_test_marks made;
  plag_test_marks_make(&made);
  plag_tally tally = plag_tally_take(&made.book.marked);
  assert_int_equal(tally.spread[9], 2);
  assert_int_equal(tally.spread[1], 1);
  for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
    made.submission[1].percent = steps[i].percent;
    tally = plag_tally_take(&made.book.marked);
    assert_int_equal(tally.spread[steps[i].bin], steps[i].bin == 9 ? 3 : 1);
  }
  plag_test_marks_clear(&made);
}

static void advice_worth_most_comes_first_and_once(void **state) {
  (void)state;
  plag_test_marks made;
  plag_advice advice[PLAG_ADVICE_MOST];
  plag_test_marks_make(&made);
  assert_int_equal(plag_advice_best(&made.book.marked, 0, 2, advice), 2);
  assert_string_equal(advice[0].text, "Go through the report.");
  assert_string_equal(advice[0].vehicle, "loader 23");
  assert_int_equal(advice[0].criterion, PLAG_CRITERION_FINDING);
  assert_close(advice[0].points, 36.5, 1e-12, 0);
  assert_string_equal(advice[1].text, "1.7 more minutes would do.");
  assert_close(advice[1].points, 1.7, 1e-12, 0);
  assert_int_equal(plag_advice_best(&made.book.marked, 3, 4, advice), 0);
  plag_test_marks_clear(&made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(criteria_that_cost_most_come_first),
      cmocka_unit_test(percents_fall_into_their_steps),
      cmocka_unit_test(advice_worth_most_comes_first_and_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
