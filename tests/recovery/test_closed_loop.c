/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Valves in a closed loop, where position is no function of the duty: healthy plates, plates that
 * stick along the shaft and at a ridge, motor and vacuum drives, 5 to 20 rows a second, the duty
 * recorded alone and beside the desired position. Of 48 captures a way of recording at most 2 are
 * judged wrong and at least 38 right, the rest undecided.
 * Held intervals of a second or longer (support/made_held.h) are found with an F1 of 0.85 where the
 * duty is the command and 0.80 beside a desired position, where holds are short: a controller soon
 * tears plates loose. Two sets of seeds: the model was tuned while the first was looked at; the
 * second is for this test alone. */
#include "support/check.h"
#include "support/made_held.h"

enum { CAPTURES = 48 };

static const struct {
  const char *fault;
  platelag_finding_kind right;
} faults[] = {
    {"none", PLATELAG_FINDING_FREE},
    {"ridge", PLATELAG_FINDING_STICKING},
    {"sticking", PLATELAG_FINDING_STICKING},
};
enum { FAULT_COUNT = sizeof faults / sizeof faults[0] };

/* Severities are spread evenly over 0.45 to 1. */
static platelag_practice_order order_of(int k, const char *command, uint64_t seed) {
  static const double rates[] = {5.0, 10.0, 20.0, 8.0};
  static const double minutes[] = {10.0, 5.0, 4.0};
  return (platelag_practice_order){
      .fault = faults[k % FAULT_COUNT].fault,
      .severity = 0.45 + 0.55 * (double)(k * 7 % CAPTURES) / CAPTURES,
      .drive = k / FAULT_COUNT % 2 == 0 ? "motor" : "vacuum",
      .friction = k / 6 % 4 == 3 ? "lugre" : "karnopp",
      .rows_per_second = rates[k / 6 % 4],
      .minutes = minutes[k / FAULT_COUNT % 3],
      .command = command,
      .seed = seed + (uint64_t)k,
  };
}

static void drive(const char *command, uint64_t seed, double least_f1) {
  static made_held tools;
  made_held_begin(&tools);
  made_held_tally all = {0};
  int right = 0;
  int wrong = 0;
  for (int k = 0; k < CAPTURES; k++) {
    const platelag_practice_order order = order_of(k, command, seed);
    made_held_try(&tools, &order, &all);
    const platelag_finding_kind expected = faults[k % FAULT_COUNT].right;
    const platelag_finding_kind found = tools.finding;
    right += found == expected;
    wrong += found != expected && found != PLATELAG_FINDING_UNDECIDED;
    if (found != expected)
      print_message("%s %.2f, %s, %s, %.0f rows/s, seed %llu: %s\n", order.fault, order.severity,
                    order.drive, order.friction, order.rows_per_second,
                    (unsigned long long)order.seed, platelag_finding_name(found));
  }
  print_message("%s: %d right, %d undecided, %d wrong; held: found %zu of %zu, right %zu of %zu, "
                "F1 %.3f\n",
                command, right, CAPTURES - right - wrong, wrong, all.found, all.found + all.missed,
                all.right, all.claimed, made_held_f1(&all, false));
  /* Right in three of four, wrong in hardly any: a controller hides much. */
  assert_true(right >= 3 * CAPTURES / 4);
  assert_true(wrong <= 2);
  assert_between(made_held_f1(&all, false), least_f1, 1.0);
  made_held_end(&tools);
}

static void a_loop_is_seen_in_the_duty_alone(void **state) {
  (void)state;
  drive("duty_closed_loop", 47003, 0.85);
}

static void the_same_with_fresh_seeds(void **state) {
  (void)state;
  drive("duty_closed_loop", 95003, 0.85);
}

static void the_duty_tells_beside_a_desired_position(void **state) {
  (void)state;
  drive("desired_and_duty", 47203, 0.80);
}

static void the_same_beside_a_desired_position_with_fresh_seeds(void **state) {
  (void)state;
  drive("desired_and_duty", 95203, 0.80);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_loop_is_seen_in_the_duty_alone),
      cmocka_unit_test(the_same_with_fresh_seeds),
      cmocka_unit_test(the_duty_tells_beside_a_desired_position),
      cmocka_unit_test(the_same_beside_a_desired_position_with_fresh_seeds),
  };
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
