/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vehicles whose stick band grows by 30 % a year are found among those that stay as they are, by
 * captures that are judged and followed down the whole road. The large fleet is bench_trends. */
#include "support/check.h"

#include <stdlib.h>
#include <unistd.h>

#include "platelag/platelag.h"
#include "support/made_fleet.h"
#include "support/made_random.h"

static const struct expectation {
  made_fleet_plan plan;
  size_t found_least, false_most;
} EXPECTED[] = {
    {{.growing = 12,
      .growth_a_year = 0.3,
      .steady = 24,
      .logs = 8,
      .minutes = 6,
      .command = "duty"},
     8,
     1},
};

static void growing_vehicles_are_found(void **state) {
  (void)state;
  const uint64_t seed = plag_test_seed(70913);
  platelag_library_start();
  for (size_t k = 0; k < sizeof EXPECTED / sizeof *EXPECTED; k++) {
    char name[] = "/tmp/platelag-trends-XXXXXX";
    made_fleet_plan plan = EXPECTED[k].plan;
    platelag_fleet_store *store = NULL;
    platelag_fleet *fleet = NULL;
    plan.seed = seed + 1000 * k;
    const int file = mkstemp(name);
    assert_true(file >= 0);
    assert_int_equal(close(file), 0);
    assert_int_equal(platelag_fleet_store_open(name, true, &store, NULL), PLATELAG_OK);
    assert_int_equal(unlink(name), 0); /* open as long as it is wanted */
    made_fleet_judge(&plan, store);
    assert_int_equal(platelag_fleet_build(store, NULL, &fleet, NULL), PLATELAG_OK);
    const made_fleet_score score = made_fleet_score_of(fleet);
    print_message("%zu growing, %zu found; %zu steady, %zu told\n", score.growing, score.found,
                  score.steady, score.false_told);
    assert_int_equal(score.growing, plan.growing);
    assert_int_equal(score.steady, plan.steady);
    assert_true(score.found >= EXPECTED[k].found_least);
    assert_true(score.false_told <= EXPECTED[k].false_most);
    platelag_fleet_destroy(fleet);
    platelag_fleet_store_close(store);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(growing_vehicles_are_found)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
