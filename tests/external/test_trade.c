/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Facts of the trade, each common practice, no source: when a signal counts as high, what a sweep
 * by hand clears, and what a cleaned valve does. Captures are written by hand and go the whole
 * road, from the bytes to the case.
 */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "core/text.h"
#include "platelag/platelag.h"
#include "support/made_random.h"
#include "support/made_review.h"

#define ROW_S 0.1

/* A shaft as seen on a 5 V sensor. */
typedef struct shaft {
  double closed_v, open_v; /* driven from stop to stop by the duty; the same: stands */
  double high_v;           /* reading from 71 s on; NaN: none */
  double high_s;           /* for so long */
} shaft;

static double noise_v(plag_test_random *random) {
  return plag_test_random_uniform(random, -0.003, 0.003);
}

/* Six positions, each for seven seconds: 5 to 95 % duty. */
static double duty_at(double at_s) {
  static const double duty_pct[] = {5.1, 94.5, 47.8, 94.5, 5.1, 61.2};
  return duty_pct[(size_t)(at_s / 7.0) % 6];
}

/* Four minutes on the road: the plates follow by first order, 0.21 s. */
static void drive(const shaft *of, plag_text *csv) {
  plag_test_random random = {20771};
  double volts = of->closed_v;
  plag_text_reset(csv);
  plag_text_add(csv, "Time (s),Intake runner duty (%),Intake runner position (V)\n");
  for (int row = 0; row < 2400; row++) {
    const double at_s = row * ROW_S;
    const double duty = duty_at(at_s);
    const double share = fmin(fmax((duty - 12.0) / 76.0, 0), 1);
    const double target = of->closed_v + share * (of->open_v - of->closed_v);
    volts += (target - volts) * (1 - exp(-ROW_S / 0.21));
    const bool high = at_s >= 71.0 && at_s < 71.0 + of->high_s; /* NaN: no */
    const double shown = (high ? of->high_v : volts) + (high ? 0.0 : noise_v(&random));
    plag_text_add_format(csv, "%.1f,%.1f,%.3f\n", at_s, duty, shown);
  }
}

/* Turned by hand off the manifold, three times there and back between two voltages. */
static void sweep(double from_v, double to_v, plag_text *csv) {
  plag_test_random random = {40961};
  plag_text_reset(csv);
  plag_text_add(csv, "Time (s),Intake runner position (V)\n");
  for (int row = 0; row < 620; row++) {
    const double phase = fmod(row * ROW_S / 20.0, 1.0);
    const double share = phase < 0.5 ? 2 * phase : 2 - 2 * phase;
    plag_text_add_format(csv, "%.1f,%.3f\n", row * ROW_S,
                         from_v + share * (to_v - from_v) + noise_v(&random));
  }
}

static const platelag_code *expected_code(const platelag_finding *finding, const char *name) {
  for (size_t i = 0; i < finding->code_count; i++)
    if (strcmp(finding->code[i].code, name) == 0)
      return &finding->code[i];
  return NULL;
}

static platelag_review *review(const plag_test_bytes *bytes, size_t count) {
  platelag_workspace *workspace = NULL;
  platelag_review *out = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(plag_test_review_all(bytes, count, NULL, workspace, &out, &error), PLATELAG_OK);
  platelag_workspace_destroy(workspace);
  assert_int_equal(out->case_count, 1);
  print_message("    %s\n", out->cases[0]->finding->sentence);
  return out;
}

/* Common practice, no source: at or above 90 % of a 5 V reference for half a second counts as high;
 * a reading just below it does not, nor a shorter one. */
static void high_from_90_pct_for_the_hold_time(void **state) {
  (void)state;
  static const struct {
    double high_v, high_s;
    bool counts;
  } row[] = {
      {4.50, 0.7, true},  {4.53, 0.6, true},  {4.97, 1.3, true},
      {4.49, 0.7, false}, {4.47, 3.1, false}, {4.53, 0.3, false},
  };
  plag_text csv = {0};
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    print_message("%.2f V for %.1f s\n", row[i].high_v, row[i].high_s);
    const shaft of = {1.21, 3.37, row[i].high_v, row[i].high_s};
    drive(&of, &csv);
    const plag_test_bytes file = {csv.bytes, csv.length, PLATELAG_CONDITION_ROAD};
    platelag_review *out = review(&file, 1);
    const platelag_review_valve *valve = &out->capture[0].valve[0];
    assert_int_equal(valve->finding->check[PLATELAG_CHECK_RANGE].result,
                     row[i].counts ? PLATELAG_CHECK_FAILED : PLATELAG_CHECK_PASSED);
    assert_int_equal(expected_code(valve->finding, "P2017") != NULL, row[i].counts);
    if (row[i].counts)
      assert_close(platelag_seconds(valve->fit->signal.first_high_ns), 71.5, 0, 0.1001);
    platelag_review_destroy(out);
  }
  plag_text_clear(&csv);
}

/* Common practice, no source: a sensor that passes smoothly from 4.9 V to 0.3 V by hand is not the
 * fault, even where the installed valve read 4.58 V all along. Without the sweep nobody knows, and
 * the sweep is the first thing to do. */
static void a_smooth_sweep_clears_the_sensor(void **state) {
  (void)state;
  const shaft reads_high = {4.58, 4.58, NAN, NAN};
  plag_text road = {0};
  plag_text by_hand = {0};
  drive(&reads_high, &road);
  sweep(4.9, 0.3, &by_hand);
  const plag_test_bytes file[] = {{road.bytes, road.length, PLATELAG_CONDITION_ROAD},
                                  {by_hand.bytes, by_hand.length, PLATELAG_CONDITION_HAND_SWEEP}};
  platelag_review *alone = review(file, 1);
  const platelag_finding *open = alone->cases[0]->finding;
  assert_int_equal(open->kind, PLATELAG_FINDING_SIGNAL_HIGH);
  assert_int_equal(open->family, PLATELAG_FAMILY_UNDECIDED);
  assert_true(open->probability[PLATELAG_FAMILY_MECHANICAL] > 0.1);
  assert_true(open->probability[PLATELAG_FAMILY_SENSOR_CIRCUIT] > 0.1);
  assert_true(open->next_test_count > 0);
  assert_non_null(strstr(open->next_test[0].test, "hand sweep"));
  platelag_review_destroy(alone);
  platelag_review *both = review(file, 2);
  const platelag_finding *settled = both->cases[0]->finding;
  assert_int_equal(settled->kind, PLATELAG_FINDING_SIGNAL_HIGH);
  assert_int_equal(settled->family, PLATELAG_FAMILY_MECHANICAL);
  assert_true(settled->probability[PLATELAG_FAMILY_SENSOR_CIRCUIT] < 0.1);
  assert_non_null(strstr(settled->sentence, "passes smoothly over 4.5"));
  platelag_review_destroy(both);
  plag_text_clear(&road);
  plag_text_clear(&by_hand);
}

/* Common practice, no source: a valve that after cleaning moves 1.2 to 3.4 V with its command is
 * free, whatever it read before. */
static void a_cleaned_valve_that_follows_is_free(void **state) {
  (void)state;
  const shaft reads_high = {4.58, 4.58, NAN, NAN};
  const shaft cleaned = {1.2, 3.4, NAN, NAN};
  plag_text road = {0};
  plag_text by_hand = {0};
  plag_text after = {0};
  drive(&reads_high, &road);
  sweep(4.9, 0.3, &by_hand);
  drive(&cleaned, &after);
  const plag_test_bytes file[] = {{road.bytes, road.length, PLATELAG_CONDITION_ROAD},
                                  {by_hand.bytes, by_hand.length, PLATELAG_CONDITION_HAND_SWEEP},
                                  {after.bytes, after.length, PLATELAG_CONDITION_AFTER}};
  platelag_review *out = review(file, 3);
  const platelag_finding *now = out->capture[2].valve[0].finding;
  assert_int_equal(now->kind, PLATELAG_FINDING_FREE);
  assert_int_equal(now->family, PLATELAG_FAMILY_FREE);
  assert_int_equal(out->cases[0]->finding->family, PLATELAG_FAMILY_MECHANICAL);
  assert_int_equal(out->cases[0]->repair, PLATELAG_REPAIR_REPAIRED);
  assert_int_equal(out->cases[0]->finding->next_test_count, 0);
  platelag_review_destroy(out);
  plag_text_clear(&road);
  plag_text_clear(&by_hand);
  plag_text_clear(&after);
}

int main(void) {
  platelag_library_start();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(high_from_90_pct_for_the_hold_time),
      cmocka_unit_test(a_smooth_sweep_clears_the_sensor),
      cmocka_unit_test(a_cleaned_valve_that_follows_is_free),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
