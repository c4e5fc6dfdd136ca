/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cases of several practice captures, and captures with more channels than the valve's own: the
 * verdict on a repair is what was done to the vehicle, and channels that speak of the plates decide
 * what position and command alone leave open. Vehicles of the second setting, on which nothing was
 * tuned. */
#include "support/check.h"

#include <stdio.h>
#include <string.h>

#include "platelag/platelag.h"
#include "support/made_capture.h"
#include "support/made_report.h"
#include "support/made_review.h"

static platelag_workspace *workspace = NULL;

static int set_up(void **state) {
  (void)state;
  platelag_library_start();
  return platelag_workspace_create(&workspace, NULL) == PLATELAG_OK ? 0 : -1;
}

static int tear_down(void **state) {
  (void)state;
  platelag_workspace_destroy(workspace);
  return 0;
}

static void record(const platelag_practice_order *order, plag_text *out) {
  platelag_error error = {0};
  plag_text_reset(out);
  const platelag_sink sink = plag_test_text_sink(out);
  if (platelag_practice_write(order, &sink, NULL, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
}

static platelag_review *review(const plag_test_bytes *bytes, size_t count) {
  platelag_review *out = NULL;
  platelag_error error = {0};
  if (plag_test_review_all(bytes, count, NULL, workspace, &out, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(out->case_count, 1);
  return out;
}

/* A vehicle before and after what the shop did. A severity of 0 after is plates that were cleaned;
 * only idle after is a road test nobody can read. */
typedef struct repair_row {
  const char *did;
  const char *fault;
  double before, after;
  const char *driving_after;
  platelag_repair is;
} repair_row;

static const repair_row repairs[] = {
    {"ridge taken off", "ridge", 0.83, 0, NULL, PLATELAG_REPAIR_REPAIRED},
    {"shaft cleaned", "sticking", 0.79, 0, NULL, PLATELAG_REPAIR_REPAIRED},
    {"slow plates freed", "slow", 0.87, 0, NULL, PLATELAG_REPAIR_REPAIRED},
    {"half cleaned", "sticking", 0.97, 0.47, NULL, PLATELAG_REPAIR_BETTER},
    {"another part replaced", "sticking", 0.71, 0.71, NULL, PLATELAG_REPAIR_UNCHANGED},
    {"bent on assembly", "sticking", 0.37, 0.93, NULL, PLATELAG_REPAIR_WORSE},
    {"cleaned, driven at idle", "sticking", 0.79, 0, "idle", PLATELAG_REPAIR_CANNOT_TELL},
};
enum { VEHICLES = 4, REPAIRS = sizeof repairs / sizeof repairs[0] };

static platelag_repair repair_of(const repair_row *row, uint64_t seed, plag_text text[2]) {
  platelag_practice_order order = {
      .setting = "second", .fault = row->fault, .severity = row->before, .seed = seed};
  record(&order, &text[0]);
  /* The same vehicle: the same seed; sound where the severity is 0. */
  order.severity = row->after;
  order.driving = row->driving_after;
  order.condition = row->after > 0 ? NULL : "after";
  record(&order, &text[1]);
  const plag_test_bytes file[] = {{text[0].bytes, text[0].length, PLATELAG_CONDITION_ROAD},
                                  {text[1].bytes, text[1].length, PLATELAG_CONDITION_AFTER}};
  platelag_review *out = review(file, 2);
  const platelag_repair is = out->cases[0]->repair;
  platelag_review_destroy(out);
  return is;
}

static void the_verdict_is_what_was_done(void **state) {
  (void)state;
  plag_text text[2] = {{0}, {0}};
  for (size_t i = 0; i < REPAIRS; i++) {
    int right = 0;
    for (uint64_t k = 0; k < VEHICLES; k++)
      right += repair_of(&repairs[i], 970100 + 10 * i + k, text) == repairs[i].is;
    print_message("%-24s %d of %d\n", repairs[i].did, right, VEHICLES);
    assert_int_equal(right, VEHICLES);
  }
  plag_text_clear(&text[0]);
  plag_text_clear(&text[1]);
}

/* Faults in which the plates stand still inside the valid band, and whom they speak for. */
static const struct {
  const char *fault;
  platelag_family is;
} still[] = {
    {"jam_inside", PLATELAG_FAMILY_MECHANICAL},
    {"no_drive", PLATELAG_FAMILY_DRIVE},
    {"frozen_signal", PLATELAG_FAMILY_SENSOR_CIRCUIT},
};
enum { STILL = sizeof still / sizeof still[0], STILL_VEHICLES = 8 };

typedef struct told {
  int right, wrong;
} told;

static told families_of(size_t fault, const char *channels) {
  told out = {0, 0};
  plag_text text = {0};
  for (uint64_t k = 0; k < STILL_VEHICLES; k++) {
    const platelag_practice_order order = {.setting = "second",
                                           .fault = still[fault].fault,
                                           .severity = 0.9,
                                           .seed = 970300 + 10 * fault + k,
                                           .channels = channels};
    record(&order, &text);
    const plag_test_bytes file = {text.bytes, text.length, PLATELAG_CONDITION_ROAD};
    platelag_review *all = review(&file, 1);
    const platelag_family family = all->cases[0]->finding->family;
    out.right += family == still[fault].is;
    out.wrong += family != still[fault].is && family != PLATELAG_FAMILY_UNDECIDED;
    platelag_review_destroy(all);
  }
  plag_text_clear(&text);
  return out;
}

/* Manifold pressure, air flow, the actuator's current and the supply tell who is to blame for
 * plates that read still; without them most of it stays open. Nobody is blamed for another. */
static void further_channels_tell_who_is_to_blame(void **state) {
  (void)state;
  told alone = {0, 0};
  told beside = {0, 0};
  for (size_t i = 0; i < STILL; i++) {
    const told few = families_of(i, "few");
    const told usual = families_of(i, "usual");
    print_message("%-14s alone: %d right, %d wrong; with the others: %d right, %d wrong of %d\n",
                  still[i].fault, few.right, few.wrong, usual.right, usual.wrong, STILL_VEHICLES);
    alone.right += few.right;
    alone.wrong += few.wrong;
    beside.right += usual.right;
    beside.wrong += usual.wrong;
  }
  assert_int_equal(alone.wrong, 0);
  assert_int_equal(beside.wrong, 0);
  assert_true(beside.right > alone.right);
}

/* What reads at its upper limit on the road, and whom a sweep by hand off the manifold names. */
static const struct {
  const char *fault;
  platelag_family is;
} high[] = {
    {"jam_past_stop", PLATELAG_FAMILY_MECHANICAL},
    {"open_wire", PLATELAG_FAMILY_SENSOR_CIRCUIT},
    {"short_to_reference", PLATELAG_FAMILY_SENSOR_CIRCUIT},
};
enum { HIGH = sizeof high / sizeof high[0], HIGH_VEHICLES = 8 };

static platelag_family family_of(const plag_test_bytes *file, size_t count) {
  platelag_review *out = review(file, count);
  const platelag_family family = out->cases[0]->finding->family;
  platelag_review_destroy(out);
  return family;
}

static void a_sweep_by_hand_settles_who_reads_high(void **state) {
  (void)state;
  plag_text text[2] = {{0}, {0}};
  for (size_t i = 0; i < HIGH; i++) {
    int open = 0;
    int settled = 0;
    for (uint64_t k = 0; k < HIGH_VEHICLES; k++) {
      platelag_practice_order order = {.setting = "second",
                                       .fault = high[i].fault,
                                       .severity = 0.9,
                                       .seed = 970500 + 10 * i + k};
      record(&order, &text[0]);
      order.condition = "hand_sweep";
      record(&order, &text[1]);
      const plag_test_bytes file[] = {
          {text[0].bytes, text[0].length, PLATELAG_CONDITION_ROAD},
          {text[1].bytes, text[1].length, PLATELAG_CONDITION_HAND_SWEEP}};
      open += family_of(file, 1) == PLATELAG_FAMILY_UNDECIDED;
      settled += family_of(file, 2) == high[i].is;
    }
    print_message("%-20s alone %d open, with the sweep %d right of %d\n", high[i].fault, open,
                  settled, HIGH_VEHICLES);
    assert_int_equal(open, HIGH_VEHICLES);
    assert_int_equal(settled, HIGH_VEHICLES);
  }
  plag_text_clear(&text[0]);
  plag_text_clear(&text[1]);
}

/* A cold start is seen however long the drive is after it. Whether friction eases with heat is not
 * asked here: what a vehicle of this setting gains in the cold (up to 0.8 % a degree) is less than
 * a share of held time tells; tests/unit/model/test_warm_up.c holds the share itself. */
static void a_warm_up_is_seen_in_a_long_drive(void **state) {
  (void)state;
  enum { COLD_STARTS = 12 };
  plag_text text = {0};
  int known = 0;
  for (uint64_t k = 0; k < COLD_STARTS; k++) {
    const platelag_practice_order order = {.setting = "second",
                                           .fault = "sticking",
                                           .severity = 0.83,
                                           .seed = 970700 + k,
                                           .minutes = 40};
    record(&order, &text);
    const plag_test_bytes file = {text.bytes, text.length, PLATELAG_CONDITION_ROAD};
    platelag_review *out = review(&file, 1);
    const platelag_warm_up *warm_up = &out->capture[0].valve[0].fit->warm_up;
    known += warm_up->by_temperature && warm_up->held_share_cold.known == PLATELAG_KNOWN_VALUE &&
             warm_up->held_share_warm.known == PLATELAG_KNOWN_VALUE;
    platelag_review_destroy(out);
  }
  plag_text_clear(&text);
  print_message("cold and warm compared in %d of %d\n", known, COLD_STARTS);
  assert_true(4 * known >= 3 * COLD_STARTS);
}

/* The other trouble of a mixture and the words that tell it, and the dominant one alone, of which
 * they are not told. The stops are given. */
static const struct {
  const char *mixture, *words;
  double severity;
} mixtures[] = {
    {"ridge+dropouts", "also dropped out", 0.9},
    {"sticking+shifted", "stops also read off", 0.95},
    {"short_travel+sticking", "also seem to stick", 0.9},
};
enum { MIXTURES = sizeof mixtures / sizeof mixtures[0], MIXED_VEHICLES = 8 };

static int tells(const platelag_practice_order *order, const char *words) {
  made_capture made = {0};
  platelag_spec *spec = NULL;
  platelag_review *out = NULL;
  platelag_error error = {0};
  assert_true(made_capture_make(&made, order));
  spec = made_capture_spec(&made, true);
  const platelag_review_options options = {.spec = spec,
                                           .circumstances = {.meter = PLATELAG_METER_NONE}};
  if (plag_test_review(made.capture.bytes, made.capture.length, &options, workspace, &out,
                       &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  const int is_told = strstr(out->cases[0]->finding->sentence, words) != NULL;
  platelag_review_destroy(out);
  platelag_spec_destroy(spec);
  made_capture_clear(&made);
  return is_told;
}

static void the_other_trouble_is_told(void **state) {
  (void)state;
  for (size_t i = 0; i < MIXTURES; i++) {
    char dominant[32];
    snprintf(dominant, sizeof dominant, "%.*s", (int)strcspn(mixtures[i].mixture, "+"),
             mixtures[i].mixture);
    int both = 0;
    int alone = 0;
    for (uint64_t k = 0; k < MIXED_VEHICLES; k++) {
      platelag_practice_order order = {.setting = "second",
                                       .fault = mixtures[i].mixture,
                                       .severity = mixtures[i].severity,
                                       .seed = 970900 + 10 * i + k};
      both += tells(&order, mixtures[i].words);
      order.fault = dominant;
      alone += tells(&order, mixtures[i].words);
    }
    print_message("%-22s told %d, of the first alone %d of %d\n", mixtures[i].mixture, both, alone,
                  MIXED_VEHICLES);
    assert_true(2 * both >= MIXED_VEHICLES);
    assert_int_equal(alone, 0);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_verdict_is_what_was_done),
      cmocka_unit_test(a_sweep_by_hand_settles_who_reads_high),
      cmocka_unit_test(a_warm_up_is_seen_in_a_long_drive),
      cmocka_unit_test(the_other_trouble_is_told),
      cmocka_unit_test(further_channels_tell_who_is_to_blame),
  };
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
