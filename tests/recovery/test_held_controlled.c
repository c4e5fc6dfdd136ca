/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plates behind a controller that nothing holds are not called held: at most one interval, of any
 * length, in ten hours without a fault, and in ten hours shared by faults that hold nothing (slow,
 * short of an end, a shifted sensor); a desired position with the duty that the controller makes of
 * it, in volts, % of reference and % open; 2 to 20 rows a second, motor and vacuum drives, two laws
 * of friction. Two sets of seeds: the model was tuned while the first was looked at; the second is
 * for this test alone.
 */
#include "support/check.h"
#include "support/made_held.h"

#define MINUTES 30

static const char *const faults[] = {"none", "slow", "short_travel", "shifted"};
enum { FAULT_COUNT = sizeof faults / sizeof faults[0] };
static const double rates[] = {5.0, 10.0, 20.0, 2.0};
static const char *const units[] = {"volt", "open", "reference"};

/* How many intervals are held in `hours` of driving with one fault. */
static size_t drive_free(made_held *tools, const char *fault, double hours, uint64_t seed) {
  made_held_tally tally = {0};
  for (uint64_t k = 0; tally.minutes < 60.0 * hours; k++) {
    const platelag_practice_order order = {.fault = fault,
                                           .severity = 0.31 + 0.067 * (double)(k % 11),
                                           .drive = k % 3 == 1 ? "vacuum" : "motor",
                                           .friction = k % 5 == 2 ? "lugre" : "karnopp",
                                           .rows_per_second = rates[k % 4],
                                           .command = "desired_and_duty",
                                           .unit = units[k % 3],
                                           .seed = seed + k,
                                           .minutes = MINUTES};
    made_held_tally here = {0};
    made_held_try(tools, &order, &here);
    if (here.any > 0)
      print_message("%s, severity %.2f, %s, %.0f rows/s, seed %llu: %zu held\n", fault,
                    order.severity, order.drive, order.rows_per_second,
                    (unsigned long long)order.seed, here.any);
    tally.any += here.any;
    tally.minutes += here.minutes;
  }
  print_message("%s: %zu held in %.0f minutes\n", fault, tally.any, tally.minutes);
  return tally.any;
}

/* Ten hours without a fault, ten shared by the others. */
static void drive_with_a_controller(uint64_t seed) {
  static made_held tools;
  made_held_begin(&tools);
  assert_true(drive_free(&tools, faults[0], 10.0, seed) <= 1);
  size_t all = 0;
  for (size_t f = 1; f < FAULT_COUNT; f++)
    all += drive_free(&tools, faults[f], 3.5, seed + 100 * f);
  assert_true(all <= 1);
  made_held_end(&tools);
}

static void controlled_driving_is_not_held(void **state) {
  (void)state;
  drive_with_a_controller(7501);
}

static void controlled_driving_of_fresh_seeds_is_not_held(void **state) {
  (void)state;
  drive_with_a_controller(92511);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(controlled_driving_is_not_held),
      cmocka_unit_test(controlled_driving_of_fresh_seeds_is_not_held),
  };
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
