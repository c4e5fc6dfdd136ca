/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Captures of one valve together say more than each: a hand sweep settles whose a high signal is, a
 * meter reading counts, and the capture after the repair proves it. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "support/failing_memory.h"
#include "support/made_fit.h"

static void pinned_like_a_wire(plag_test_record *r) {
  plag_test_pin_high(r, 98.9, 0.0);
}
/* Common practice: a sensor that passes smoothly from 4.9 V to 0.3 V by hand is not the fault even
 * where the installed valve read 4.58 V all along. 4.6 V are 180 % of this valve's travel. */
static void reads_4_58_v(plag_test_record *r) {
  plag_test_pin_high(r, 91.6, 0.13);
}
static void smooth_sweep(plag_test_record *r) {
  plag_test_sweep(r, 180.4, 0);
}
static void spotted_sweep(plag_test_record *r) {
  plag_test_sweep(r, 131.7, 5);
}
static void narrow_sweep(plag_test_record *r) {
  plag_test_sweep(r, 17.3, 0);
}
static void dead_sweep(plag_test_record *r) {
  plag_test_pin_high(r, 99.1, 0);
  r->trace.condition = PLATELAG_CONDITION_HAND_SWEEP;
  r->trace.command_kind = PLATELAG_COMMAND_ABSENT;
}
static void stands_closed(plag_test_record *r) {
  plag_test_stand_still(r, 2.7, true);
}
static void sticks(plag_test_record *r) {
  plag_test_hold(r, 14, 47.3, 61);
  r->fit.friction.stick_band_pct = (platelag_estimate){PLATELAG_KNOWN_VALUE, 16.7, 14.9, 18.3};
}
static void sticks_less(plag_test_record *r) {
  plag_test_hold(r, 9, 47.3, 61);
  r->fit.friction.stick_band_pct = (platelag_estimate){PLATELAG_KNOWN_VALUE, 10.7, 9.9, 11.6};
  r->trace.condition = PLATELAG_CONDITION_AFTER;
}
static void sticks_still(plag_test_record *r) {
  sticks(r);
  r->trace.condition = PLATELAG_CONDITION_AFTER;
}
/* Common practice: a valve that after cleaning moves 1.2 to 3.4 V with its command is free. */
static void moves_1_2_to_3_4_v(plag_test_record *r) {
  r->fit.travel.highest_pct = 87.1;
  r->fit.travel.rest_open_pct = NAN;
  r->fit.travel.open_asked = false;
  r->trace.condition = PLATELAG_CONDITION_AFTER;
}
static void healthy(plag_test_record *r) {
  (void)r;
}
static void unhurt(plag_test_record *r) {
  r->trace.condition = PLATELAG_CONDITION_AFTER;
}

#define KIND(name)   PLATELAG_FINDING_##name
#define FAMILY(name) PLATELAG_FAMILY_##name
#define REPAIR(name) PLATELAG_REPAIR_##name
static const struct {
  const char *name;
  void (*change[3])(plag_test_record *record);
  platelag_meter meter;
  platelag_finding_kind kind;
  platelag_family family;
  platelag_repair repair;
  const char *told; /* in the sentence */
} row[] = {
    {"high and a smooth sweep",
     {reads_4_58_v, smooth_sweep},
     PLATELAG_METER_NONE,
     KIND(SIGNAL_HIGH),
     FAMILY(MECHANICAL),
     REPAIR(NONE),
     "passes smoothly over 4.60 V"},
    {"even pinned like a wire",
     {pinned_like_a_wire, smooth_sweep},
     PLATELAG_METER_NONE,
     KIND(SIGNAL_HIGH),
     FAMILY(MECHANICAL),
     REPAIR(NONE),
     "passes smoothly"},
    {"high and a dead sweep",
     {pinned_like_a_wire, dead_sweep},
     PLATELAG_METER_NONE,
     KIND(SIGNAL_HIGH),
     FAMILY(SENSOR_CIRCUIT),
     REPAIR(NONE),
     "stays at its rail"},
    {"a narrow sweep settles nothing",
     {pinned_like_a_wire, narrow_sweep},
     PLATELAG_METER_NONE,
     KIND(SIGNAL_HIGH),
     FAMILY(UNDECIDED),
     REPAIR(NONE),
     "did not cover"},
    {"only a spotted sweep",
     {spotted_sweep},
     PLATELAG_METER_NONE,
     KIND(SIGNAL_ERRATIC),
     FAMILY(SENSOR_CIRCUIT),
     REPAIR(NONE),
     "5 dead or jumping spots"},
    {"only a smooth sweep",
     {smooth_sweep},
     PLATELAG_METER_NONE,
     KIND(UNDECIDED),
     FAMILY(UNDECIDED),
     REPAIR(NONE),
     "passes smoothly"},
    {"a ground that floats",
     {pinned_like_a_wire},
     {4.93, 5.01, 1.87, NAN},
     KIND(SIGNAL_HIGH),
     FAMILY(SENSOR_CIRCUIT),
     REPAIR(NONE),
     "98.9 %"},
    {"meter and capture disagree",
     {pinned_like_a_wire},
     {2.31, 5.01, 0.02, NAN},
     KIND(SIGNAL_HIGH),
     FAMILY(SENSOR_CIRCUIT),
     REPAIR(NONE),
     "disagree: 2.31 V"},
    {"an actuator without its supply",
     {stands_closed},
     {NAN, NAN, NAN, 1.83},
     KIND(STILL),
     FAMILY(UNDECIDED),
     REPAIR(NONE),
     "supply measures 1.83 V (limit 10.5 V)"},
    {"sticking, then cleaned",
     {sticks, moves_1_2_to_3_4_v},
     PLATELAG_METER_NONE,
     KIND(STICKING),
     FAMILY(MECHANICAL),
     REPAIR(REPAIRED),
     "repaired"},
    {"sticking less",
     {sticks, sticks_less},
     PLATELAG_METER_NONE,
     KIND(STICKING),
     FAMILY(MECHANICAL),
     REPAIR(BETTER),
     "better"},
    {"sticking as before",
     {sticks, sticks_still},
     PLATELAG_METER_NONE,
     KIND(STICKING),
     FAMILY(MECHANICAL),
     REPAIR(UNCHANGED),
     "no change"},
    {"spoilt by the repair",
     {healthy, sticks_still},
     PLATELAG_METER_NONE,
     KIND(FREE),
     FAMILY(FREE),
     REPAIR(WORSE),
     "worse"},
    {"only after",
     {unhurt},
     PLATELAG_METER_NONE,
     KIND(FREE),
     FAMILY(FREE),
     REPAIR(CANNOT_TELL),
     "follow"},
    {"sticking and a smooth sweep",
     {sticks, smooth_sweep},
     PLATELAG_METER_NONE,
     KIND(STICKING),
     FAMILY(MECHANICAL),
     REPAIR(NONE),
     "passes smoothly"},
};

typedef struct bench {
  plag_test_record record[3];
  platelag_case_input input[3];
  size_t count;
} bench;

static platelag_status prepare(bench *made, size_t index) {
  platelag_status status = PLATELAG_OK;
  made->count = 0;
  for (size_t c = 0; c < 3 && row[index].change[c] != NULL && status == PLATELAG_OK; c++) {
    plag_test_record *record = &made->record[c];
    plag_test_make_healthy(record);
    row[index].change[c](record);
    platelag_finding *finding = NULL;
    status =
        platelag_finding_judge(&record->fit, &record->trace, &record->spec, NULL, &finding, NULL);
    if (status == PLATELAG_OK)
      made->input[made->count++] =
          (platelag_case_input){record->trace.condition, &record->fit, finding};
  }
  return status;
}

static void release(bench *made) {
  for (size_t c = 0; c < made->count; c++)
    platelag_finding_destroy((platelag_finding *)made->input[c].finding);
}

static void cases_are_judged_together(void **state) {
  (void)state;
  size_t wrong = 0;
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    static bench made;
    assert_int_equal(prepare(&made, i), PLATELAG_OK);
    const platelag_circumstances circumstances = {.meter = row[i].meter};
    platelag_case *judged = NULL;
    assert_int_equal(platelag_case_judge("bank 2", made.input, made.count, &made.record[0].spec,
                                         &circumstances, &judged, NULL),
                     PLATELAG_OK);
    release(&made); /* the case outlives its captures */
    const platelag_finding *finding = judged->finding;
    const bool right = finding->kind == row[i].kind && finding->family == row[i].family &&
                       judged->repair == row[i].repair &&
                       strstr(finding->sentence, row[i].told) != NULL;
    print_message("%-32s %-14s %-14s %-11s free %.3f mech %.3f sensor %.3f drive %.3f\n    %s\n",
                  row[i].name, platelag_finding_name(finding->kind),
                  platelag_family_name(finding->family), platelag_repair_name(judged->repair),
                  finding->probability[0], finding->probability[1], finding->probability[2],
                  finding->probability[3], finding->sentence);
    if (!right)
      print_message("    ^ wrong\n");
    wrong += !right;
    platelag_case_destroy(judged);
  }
  assert_int_equal(wrong, 0);
}

/* Design section 8: without a sweep both stay open, and the sweep is the first next test. */
static void the_sweep_is_the_first_test_of_a_high_signal(void **state) {
  (void)state;
  plag_test_record record;
  plag_test_make_healthy(&record);
  pinned_like_a_wire(&record);
  platelag_finding *finding = NULL;
  assert_int_equal(
      platelag_finding_judge(&record.fit, &record.trace, &record.spec, NULL, &finding, NULL),
      PLATELAG_OK);
  assert_true(finding->next_test_count >= 2);
  assert_non_null(strstr(finding->next_test[0].test, "hand sweep"));
  assert_non_null(strstr(finding->next_test[0].caution, "Key off"));
  platelag_finding_destroy(finding);
}

static void every_failed_allocation_is_told(void **state) {
  (void)state;
  static bench made;
  bool failed = true;
  size_t nth = 1;
  for (; failed; nth++) {
    assert_true(nth < 5000);
    platelag_case *judged = NULL;
    platelag_error error = {0};
    plag_test_fail_allocation(nth);
    platelag_status status = prepare(&made, 8);
    if (status == PLATELAG_OK)
      status = platelag_case_judge("valve", made.input, made.count, &made.record[0].spec, NULL,
                                   &judged, &error);
    failed = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(status, failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    assert_true(failed == (judged == NULL));
    platelag_case_destroy(judged);
    release(&made);
  }
  assert_true(nth > 20);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cases_are_judged_together),
      cmocka_unit_test(the_sweep_is_the_first_test_of_a_high_signal),
      cmocka_unit_test(every_failed_allocation_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
