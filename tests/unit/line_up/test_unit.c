/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sensor's reference: what the spec says, else the middle of what was recorded, whatever its
 * first readings were, where that can be a reference at all. */
#include "support/check.h"
#include "support/made_random.h"
#include "support/made_recording.h"

#include <math.h>

#include "line_up/line_up.h"

enum { ROWS = 1200 };

static const struct {
  const char *name;
  double first_v; /* of the first five readings; NaN: none */
  double rest_v;
  double spec_v; /* NaN: not given */
  double told_v;
} CASES[] = {
    {"recorded", 5.0372, 5.0372, NAN, 5.0372},
    {"switched on late", 0.013, 5.0372, NAN, 5.0372},
    {"its first readings are missing", NAN, 5.0372, NAN, 5.0372},
    {"the spec comes first", 5.0372, 5.0372, 4.983, 4.983},
    {"a broken one is no reference", 1.871, 1.871, NAN, 5.0},
};

static void record(plag_test_recording *made, double first_v, double rest_v) {
  static double time_s[ROWS], command[ROWS], position[ROWS], reference[ROWS];
  plag_test_random random = {61};
  for (int i = 0; i < ROWS; i++) {
    time_s[i] = 0.1 * i;
    command[i] = (i / 70) % 2 == 0 ? 11.0 : 87.0;
    position[i] = 1.2 + 0.025 * command[i] + 0.004 * plag_test_random_normal(&random);
    reference[i] = i < 5 ? first_v : rest_v;
  }
  plag_test_recording_add(
      made, (plag_test_head){"Flap pos", "V", PLATELAG_UNIT_VOLT, PLATELAG_ROLE_POSITION, 0, 0.9},
      time_s, position, ROWS);
  plag_test_recording_add(
      made,
      (plag_test_head){"Flap duty", "%", PLATELAG_UNIT_PERCENT, PLATELAG_ROLE_COMMAND, 0, 0.9},
      time_s, command, ROWS);
  plag_test_recording_add(made,
                          (plag_test_head){"Sensor reference", "V", PLATELAG_UNIT_VOLT,
                                           PLATELAG_ROLE_SENSOR_REFERENCE, 0, 0.9},
                          time_s, reference, ROWS);
}

static void the_reference_is_the_middle_of_what_was_recorded(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
    plag_test_recording made = {0};
    record(&made, CASES[i].first_v, CASES[i].rest_v);
    platelag_spec *spec = NULL;
    assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
    /* The spec that a caller sees is const; the test owns this one. */
    platelag_valve_spec *own = (platelag_valve_spec *)platelag_spec_for_bank(spec, 0);
    if (!isnan(CASES[i].spec_v)) {
      own->reference_v = CASES[i].spec_v;
      own->reference_given = true;
    }
    platelag_trace *trace = NULL;
    assert_int_equal(plag_line_up(&made.recording, 0, spec, PLATELAG_CONDITION_ROAD, &trace, NULL),
                     PLATELAG_OK);
    print_message("%s\n", CASES[i].name);
    assert_close(trace->reference_v, CASES[i].told_v, 1e-9, 0);
    platelag_trace_destroy(trace);
    platelag_spec_destroy(spec);
    plag_test_recording_clear(&made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_reference_is_the_middle_of_what_was_recorded)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
