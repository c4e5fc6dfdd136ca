/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Levels become travel: by the spec, else by what the trace shows at rest, whichever way the sensor
 * counts and whatever void readings lie between; and the unit is decided and told. */
#include "support/check.h"
#include "support/made_random.h"
#include "support/made_recording.h"

#include <math.h>
#include <string.h>

#include "line_up/line_up.h"

enum { ROWS = 1800 };

typedef struct scale_case {
  const char *what;
  const char *unit_text;
  platelag_unit unit;
  double closed, open; /* true levels */
  double reach;        /* share of the travel that the plates reach; 0: they never move */
  double busy;         /* > 0: a duty that moves at every row by this sd */
  double void_level;   /* at rows 200-260 and 900-960 and now and then; NaN: none */
  double spec_closed, spec_open;
  bool words;           /* on/off in place of a duty */
  platelag_scale scale; /* expected */
  platelag_level_unit level_unit;
  double closed_level, open_level, tolerance;
  const char *note; /* words of one note; NULL: none is needed, the scale says all */
} scale_case;

#define NONE NAN, NAN

static const scale_case CASES[] = {
    {"learned in volts", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 1.0, 0, NAN, NONE, false,
     PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 1.21, 3.74, 0.02, "learned"},
    {"an inverted sensor is turned", "V", PLATELAG_UNIT_VOLT, 3.91, 0.83, 1.0, 0, NAN, NONE, false,
     PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 3.91, 0.83, 0.02, "counts down"},
    {"an inverted sensor under an on/off command", "V", PLATELAG_UNIT_VOLT, 3.91, 0.83, 1.0, 0, NAN,
     NONE, true, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 3.91, 0.83, 0.02, "counts down"},
    {"voids at the upper rail do not count", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 1.0, 0, 4.97,
     NONE, false, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 1.21, 3.74, 0.03, "learned"},
    {"voids at the lower rail do not count", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 1.0, 0, 0.04,
     NONE, false, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 1.21, 3.74, 0.03, "learned"},
    {"a busy duty without steady ends", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 1.0, 9.0, NAN, NONE,
     false, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 1.21, 3.74, 0.25, "learned"},
    {"the spec's stops hold", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 0.7, 0, NAN, 1.20, 3.75, false,
     PLATELAG_SCALE_SPEC, PLATELAG_LEVEL_VOLT, 1.20, 3.75, 0, NULL},
    {"the spec's stops hold, inverted", "V", PLATELAG_UNIT_VOLT, 3.91, 0.83, 1.0, 0, NAN, 3.95, 0.8,
     false, PLATELAG_SCALE_SPEC, PLATELAG_LEVEL_VOLT, 3.95, 0.8, 0, NULL},
    {"one stop of the spec, one learned", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 1.0, 0, NAN, 1.07,
     NAN, false, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 1.07, 3.74, 0.02, "learned"},
    {"one stop of the spec, the upper", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 1.0, 0, NAN, 3.81, NAN,
     false, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 3.81, 1.21, 0.02, "one stop of the spec"},
    {"plates that never move have no learned scale", "V", PLATELAG_UNIT_VOLT, 1.21, 3.74, 0.0, 0,
     NAN, NONE, false, PLATELAG_SCALE_NOMINAL, PLATELAG_LEVEL_VOLT, 0.0, 5.0, 0, "whole range"},
    {"% open is the controller's scale", "%", PLATELAG_UNIT_PERCENT, 1.5, 98.2, 0.7, 0, NAN, NONE,
     false, PLATELAG_SCALE_NOMINAL, PLATELAG_LEVEL_PCT_OPEN, 0.0, 100.0, 0, "a rail of the sensor"},
    {"% that miss both ends are of the reference", "%", PLATELAG_UNIT_PERCENT, 24.3, 74.6, 1.0, 0,
     NAN, NONE, false, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_PCT_REFERENCE, 24.3, 74.6, 0.5,
     "% of the sensor's reference"},
    {"% of reference by name", "% ref", PLATELAG_UNIT_PERCENT, 9.3, 74.6, 1.0, 0, 99.6, NONE, false,
     PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_PCT_REFERENCE, 9.3, 74.6, 0.6, "learned"},
    {"% of reference and a spec in volts", "% ref", PLATELAG_UNIT_PERCENT, 24.3, 74.6, 1.0, 0, NAN,
     1.235, 3.745, false, PLATELAG_SCALE_SPEC, PLATELAG_LEVEL_PCT_REFERENCE, 24.7, 74.9, 1e-9,
     NULL},
    {"% that miss both ends and a spec in volts", "%", PLATELAG_UNIT_PERCENT, 24.3, 74.6, 1.0, 0,
     NAN, 1.235, 3.745, false, PLATELAG_SCALE_SPEC, PLATELAG_LEVEL_PCT_REFERENCE, 24.7, 74.9, 1e-9,
     "% of the sensor's reference"},
    {"% open and a spec in volts", "%", PLATELAG_UNIT_PERCENT, 1.5, 98.2, 0.7, 0, NAN, 1.235, 3.745,
     false, PLATELAG_SCALE_NOMINAL, PLATELAG_LEVEL_PCT_OPEN, 0.0, 100.0, 0, "as recorded"},
    {"% open and a spec in %", "%", PLATELAG_UNIT_PERCENT, 1.5, 98.2, 0.7, 0, NAN, 2.0, 97.5, false,
     PLATELAG_SCALE_SPEC, PLATELAG_LEVEL_PCT_OPEN, 2.0, 97.5, 0, NULL},
    {"no unit, values of volts", "", PLATELAG_UNIT_UNKNOWN, 1.21, 3.74, 1.0, 0, NAN, NONE, false,
     PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_VOLT, 1.21, 3.74, 0.02, "taken as volts"},
    {"no unit, values of a converter", "", PLATELAG_UNIT_UNKNOWN, 212.0, 803.0, 1.0, 0, NAN, NONE,
     false, PLATELAG_SCALE_LEARNED, PLATELAG_LEVEL_UNKNOWN, 212.0, 803.0, 4.0, "learned"},
};

static void make(const scale_case *row, plag_test_recording *made) {
  static double time_s[ROWS], command[ROWS], level[ROWS];
  plag_test_random random = {4321};
  const double span = row->open - row->closed;
  double travel = 0.0;
  for (int i = 0; i < ROWS; i++) {
    time_s[i] = 0.1 * i;
    double asked = (i / 67) % 2 == 0 ? 0.0 : (i / 67) % 4 == 1 ? 1.0 : 0.55;
    if (row->words)
      asked = asked > 0.5 ? 1.0 : 0.0;
    if (row->busy > 0.0)
      asked = fmin(1.0, fmax(0.0, 0.5 + 0.62 * sin(0.02 * i)));
    command[i] = row->words ? asked : 5.0 + 80.0 * asked;
    if (row->busy > 0.0)
      command[i] += 0.05 * row->busy * plag_test_random_normal(&random);
    travel += 0.4 * (asked * row->reach - travel);
    level[i] = row->closed + span * (travel + 0.003 * plag_test_random_normal(&random));
    const bool is_void = (i >= 200 && i < 260) || (i >= 900 && i < 960) || i % 71 == 3;
    if (!isnan(row->void_level) && is_void)
      level[i] = row->void_level;
  }
  plag_test_recording_add(
      made, (plag_test_head){"Flap pos", row->unit_text, row->unit, PLATELAG_ROLE_POSITION, 0, 0.9},
      time_s, level, ROWS);
  plag_test_recording_add(
      made,
      (plag_test_head){"Flap command", "", PLATELAG_UNIT_UNKNOWN, PLATELAG_ROLE_COMMAND, 0, 0.9},
      time_s, command, ROWS);
}

static bool some_note_has(const platelag_trace *trace, const char *words) {
  for (size_t i = 0; i < trace->note_count; i++)
    if (strstr(trace->note[i], words) != NULL)
      return true;
  return false;
}

/* A spec of one section, by the way a user gives it. */
static platelag_spec *spec_of(const scale_case *row) {
  platelag_spec *spec = NULL;
  assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
  /* The spec that a caller sees is const; the test owns this one. */
  platelag_valve_spec *own = (platelag_valve_spec *)platelag_spec_for_bank(spec, 0);
  own->closed_v = row->spec_closed;
  own->open_v = row->spec_open;
  return spec;
}

static void scales_are_found(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
    const scale_case *row = &CASES[i];
    plag_test_recording made = {0};
    make(row, &made);
    platelag_spec *spec = spec_of(row);
    platelag_trace *trace = NULL;
    assert_int_equal(plag_line_up(&made.recording, 0, spec, PLATELAG_CONDITION_ROAD, &trace, NULL),
                     PLATELAG_OK);
    assert_int_equal(trace->scale, row->scale);
    assert_int_equal(trace->level_unit, row->level_unit);
    assert_close(trace->closed_level, row->closed_level, 0, row->tolerance);
    assert_close(trace->open_level, row->open_level, 0, row->tolerance);
    assert_int_equal(trace->inverted, row->closed_level > row->open_level);
    assert_int_equal(trace->command_kind,
                     row->words ? PLATELAG_COMMAND_TWO_LEVEL : PLATELAG_COMMAND_DUTY);
    if (row->note != NULL && !some_note_has(trace, row->note))
      fail_msg("%s: no note with \"%s\"", row->what, row->note);
    const bool rails = trace->level_unit == PLATELAG_LEVEL_VOLT ||
                       trace->level_unit == PLATELAG_LEVEL_PCT_REFERENCE;
    assert_int_equal(!isnan(trace->volts_per_level), rails);
    platelag_trace_destroy(trace);
    platelag_spec_destroy(spec);
    plag_test_recording_clear(&made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(scales_are_found)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
