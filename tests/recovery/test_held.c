/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Held intervals of practice captures are found: F1 of 0.95 over those of a second or longer, 0.92
 * with slight pulls too, at 5 to 20 rows a second, motor and vacuum drives, stuck along the shaft
 * and at a ridge. What counts as true, found and right is told in support/made_held.h. The physics
 * (src/practice) share nothing with the model. Two sets of seeds: the model was tuned while the
 * first was looked at; the second is for this test alone. */
#include "support/check.h"
#include "support/made_held.h"

#define MINUTES 10

static const struct {
  const char *fault, *drive;
  double severity, rows_per_second;
  uint64_t seed[2];
} rows[] = {
    {"sticking", "motor", 0.43, 5.0, {1307, 90017}},
    {"sticking", "motor", 0.59, 10.0, {1319, 90029}},
    {"sticking", "vacuum", 0.71, 20.0, {1321, 90037}},
    {"sticking", "motor", 0.97, 10.0, {1327, 90043}},
    {"sticking", "vacuum", 0.53, 8.0, {1361, 90058}},
    {"sticking", "vacuum", 0.89, 5.0, {1367, 90062}},
    {"ridge", "motor", 0.47, 20.0, {1373, 90074}},
    {"ridge", "motor", 0.61, 10.0, {1381, 90086}},
    {"ridge", "vacuum", 0.73, 5.0, {1399, 90091}},
    {"ridge", "motor", 0.83, 8.0, {1409, 90103}},
    {"ridge", "vacuum", 0.67, 20.0, {1423, 90119}},
    {"ridge", "motor", 0.97, 5.0, {1427, 90127}},
};

static void find_all(int set) {
  static made_held tools;
  made_held_begin(&tools);
  made_held_tally all = {0};
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    const platelag_practice_order order = {.fault = rows[k].fault,
                                           .drive = rows[k].drive,
                                           .severity = rows[k].severity,
                                           .rows_per_second = rows[k].rows_per_second,
                                           .seed = rows[k].seed[set],
                                           .minutes = MINUTES};
    made_held_tally here = {0};
    made_held_try(&tools, &order, &here);
    print_message("%s %.2f, %s, %.0f rows/s, seed %llu: found %zu of %zu, slight %zu of %zu, "
                  "right %zu of %zu\n",
                  rows[k].fault, rows[k].severity, rows[k].drive, rows[k].rows_per_second,
                  (unsigned long long)rows[k].seed[set], here.found, here.found + here.missed,
                  here.slight_found, here.slight_found + here.slight_missed, here.right,
                  here.claimed);
    made_held_add(&all, &here);
  }
  print_message("F1 %.3f, slight pulls too %.3f\n", made_held_f1(&all, false),
                made_held_f1(&all, true));
  assert_true(all.found + all.missed >= 100); /* or the test proves nothing */
  assert_between(made_held_f1(&all, false), 0.95, 1.0);
  assert_between(made_held_f1(&all, true), 0.92, 1.0);
  made_held_end(&tools);
}

static void held_plates_are_found(void **state) {
  (void)state;
  find_all(0);
}

static void held_plates_of_fresh_seeds_are_found(void **state) {
  (void)state;
  find_all(1);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(held_plates_are_found),
      cmocka_unit_test(held_plates_of_fresh_seeds_are_found),
  };
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
