/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The verdict on a repair, fault by fault: the figure that measures it has moved beyond both
 * intervals, or it has not. By hand: settled ends are read to 2 % of travel; void readings are a
 * Poisson count, half a count either side of its root. */
#include "support/check.h"
#include "support/made_fit.h"

#include <math.h>
#include <string.h>

#include "judge/repair.h"

typedef enum measured {
  T63_S,
  BAND_PCT,
  BAND_AT_MOST_PCT,
  BAND_UNKNOWN_HELD,
  OPEN_END_PCT,
  CLOSED_END_PCT,
  VOID_COUNT,
  NOTHING_TELLS
} measured;

static const struct repair_row {
  platelag_finding_kind was, is;
  measured by;
  double before, after;
  platelag_repair expected;
} ROWS[] = {
    {PLATELAG_FINDING_SLOW, PLATELAG_FINDING_SLOW, T63_S, 1.9, 1.1, PLATELAG_REPAIR_BETTER},
    {PLATELAG_FINDING_SLOW, PLATELAG_FINDING_SLOW, T63_S, 1.1, 1.9, PLATELAG_REPAIR_WORSE},
    {PLATELAG_FINDING_SLOW, PLATELAG_FINDING_SLOW, T63_S, 1.1, 1.13, PLATELAG_REPAIR_UNCHANGED},
    {PLATELAG_FINDING_STICKING, PLATELAG_FINDING_STICKING, BAND_PCT, 23.85, 12.4,
     PLATELAG_REPAIR_BETTER},
    {PLATELAG_FINDING_STICKING, PLATELAG_FINDING_STICKING, BAND_PCT, 12.4, 23.85,
     PLATELAG_REPAIR_WORSE},
    {PLATELAG_FINDING_STICKING, PLATELAG_FINDING_STICKING, BAND_AT_MOST_PCT, 23.85, 9.4,
     PLATELAG_REPAIR_UNCHANGED},
    /* Held 61 and 7 times in ten minutes. */
    {PLATELAG_FINDING_STICKING, PLATELAG_FINDING_STICKING, BAND_UNKNOWN_HELD, 61, 7,
     PLATELAG_REPAIR_BETTER},
    {PLATELAG_FINDING_STICKING, PLATELAG_FINDING_STICKING, BAND_UNKNOWN_HELD, 9, 7,
     PLATELAG_REPAIR_UNCHANGED},
    {PLATELAG_FINDING_SHORT_TRAVEL, PLATELAG_FINDING_SHORT_TRAVEL, OPEN_END_PCT, 61.3, 82.7,
     PLATELAG_REPAIR_BETTER},
    {PLATELAG_FINDING_SHORT_TRAVEL, PLATELAG_FINDING_SHORT_TRAVEL, OPEN_END_PCT, 82.7, 61.3,
     PLATELAG_REPAIR_WORSE},
    {PLATELAG_FINDING_SHORT_TRAVEL, PLATELAG_FINDING_SHORT_TRAVEL, OPEN_END_PCT, 82.7, 79.6,
     PLATELAG_REPAIR_UNCHANGED},
    {PLATELAG_FINDING_SIGNAL_SHIFTED, PLATELAG_FINDING_SIGNAL_SHIFTED, CLOSED_END_PCT, 31.7, 22.9,
     PLATELAG_REPAIR_BETTER},
    {PLATELAG_FINDING_SIGNAL_SHIFTED, PLATELAG_FINDING_SIGNAL_SHIFTED, CLOSED_END_PCT, 22.9, 25.1,
     PLATELAG_REPAIR_UNCHANGED},
    {PLATELAG_FINDING_SIGNAL_ERRATIC, PLATELAG_FINDING_SIGNAL_ERRATIC, VOID_COUNT, 71, 12,
     PLATELAG_REPAIR_BETTER},
    {PLATELAG_FINDING_SIGNAL_ERRATIC, PLATELAG_FINDING_SIGNAL_ERRATIC, VOID_COUNT, 12, 71,
     PLATELAG_REPAIR_WORSE},
    {PLATELAG_FINDING_SIGNAL_ERRATIC, PLATELAG_FINDING_SIGNAL_ERRATIC, VOID_COUNT, 12, 15,
     PLATELAG_REPAIR_UNCHANGED},
    {PLATELAG_FINDING_SLOW, PLATELAG_FINDING_SLOW, NOTHING_TELLS, 0, 0,
     PLATELAG_REPAIR_CANNOT_TELL},
    {PLATELAG_FINDING_STILL, PLATELAG_FINDING_STILL, NOTHING_TELLS, 0, 0,
     PLATELAG_REPAIR_UNCHANGED},
    {PLATELAG_FINDING_SIGNAL_HIGH, PLATELAG_FINDING_FREE, NOTHING_TELLS, 0, 0,
     PLATELAG_REPAIR_REPAIRED},
    {PLATELAG_FINDING_FREE, PLATELAG_FINDING_FREE, NOTHING_TELLS, 0, 0, PLATELAG_REPAIR_UNCHANGED},
    {PLATELAG_FINDING_FREE, PLATELAG_FINDING_STICKING, BAND_PCT, 4.1, 23.85, PLATELAG_REPAIR_WORSE},
    {PLATELAG_FINDING_STILL, PLATELAG_FINDING_SLOW, T63_S, 1.1, 1.1, PLATELAG_REPAIR_BETTER},
    {PLATELAG_FINDING_UNDECIDED, PLATELAG_FINDING_FREE, NOTHING_TELLS, 0, 0,
     PLATELAG_REPAIR_CANNOT_TELL},
    {PLATELAG_FINDING_STICKING, PLATELAG_FINDING_UNDECIDED, NOTHING_TELLS, 0, 0,
     PLATELAG_REPAIR_CANNOT_TELL},
};

static platelag_estimate within(double value, double share) {
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value * (1 - share), value * (1 + share)};
}

static const platelag_estimate unknown = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};

static void measure(plag_test_record *record, measured by, double value) {
  platelag_fit *fit = &record->fit;
  plag_test_make_healthy(record);
  fit->coverage.recorded_s = 600;
  switch (by) {
  case T63_S:
    fit->lag.opening_t63_s = within(value, 0.08);
    break;
  case BAND_PCT:
    fit->friction.stick_band_pct = within(value, 0.07);
    break;
  case BAND_AT_MOST_PCT: /* reaches up to what was before */
    fit->friction.stick_band_pct = (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 23.1};
    break;
  case BAND_UNKNOWN_HELD:
    fit->friction.stick_band_pct = unknown;
    fit->held_count = (size_t)value;
    break;
  case OPEN_END_PCT:
    fit->travel.rest_open_pct = value;
    break;
  case CLOSED_END_PCT:
    fit->travel.rest_closed_pct = value;
    break;
  case VOID_COUNT:
    fit->signal.void_count = (size_t)value;
    break;
  case NOTHING_TELLS:
    fit->lag.opening_t63_s = fit->lag.closing_t63_s = unknown;
    break;
  }
}

static void the_verdict_follows_the_fault_s_figure(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++) {
    const struct repair_row *row = &ROWS[i];
    static plag_test_record before, after;
    measure(&before, row->by, row->before);
    measure(&after, row->by, row->after);
    const platelag_finding was = {.kind = row->was};
    const platelag_finding is = {.kind = row->is};
    const platelag_repair told =
        plag_repair_judge(&(platelag_case_input){PLATELAG_CONDITION_ROAD, &before.fit, &was},
                          &(platelag_case_input){PLATELAG_CONDITION_AFTER, &after.fit, &is});
    if (told != row->expected)
      fail_msg("row %zu (%s, then %s): %s, expected %s", i, platelag_finding_name(row->was),
               platelag_finding_name(row->is), platelag_repair_name(told),
               platelag_repair_name(row->expected));
  }
}

/* Each figure is told as it is known, before and after, and counts by its middle; what is not known
 * after the repair is not told. */
static void figures_are_told_as_they_are_known(void **state) {
  (void)state;
  static const struct {
    platelag_estimate before, after;
    const char *words; /* NULL: not told */
    double value;
    platelag_family speaks_for;
  } rows[] = {
      {{PLATELAG_KNOWN_VALUE, 23.85, 21.93, 25.81},
       {PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 4.37},
       "stick band after the repair: at most 4.37, before 23.85 (21.93 to 25.81)",
       4.37,
       PLATELAG_FAMILY_FREE},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 4.37},
       {PLATELAG_KNOWN_BRACKET, NAN, 31.62, 44.18},
       "stick band after the repair: between 31.62 and 44.18, before at most 4.37",
       37.9,
       PLATELAG_FAMILY_MECHANICAL},
      {{PLATELAG_KNOWN_BRACKET, NAN, 31.62, 44.18},
       {PLATELAG_KNOWN_LOWER_LIMIT, NAN, 29.27, NAN},
       "stick band after the repair: at least 29.27, before between 31.62 and 44.18",
       29.27,
       PLATELAG_FAMILY_MECHANICAL},
      {{PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN},
       {PLATELAG_KNOWN_VALUE, 23.85, 21.93, 25.81},
       "stick band after the repair: 23.85 (21.93 to 25.81), before not measured",
       23.85,
       PLATELAG_FAMILY_MECHANICAL},
      {{PLATELAG_KNOWN_VALUE, 23.85, 21.93, 25.81},
       {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN},
       NULL,
       NAN,
       PLATELAG_FAMILY_FREE},
  };
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    static plag_test_record before, after;
    measure(&before, T63_S, 0.41);
    measure(&after, T63_S, 0.23);
    after.fit.lag.closing_t63_s = after.fit.lag.opening_t63_s;
    before.fit.friction.stick_band_pct = rows[i].before;
    after.fit.friction.stick_band_pct = rows[i].after;
    const platelag_finding finding = {.kind = PLATELAG_FINDING_STICKING,
                                      .family = PLATELAG_FAMILY_MECHANICAL};
    platelag_evidence row[PLAG_REPAIR_FIGURES];
    size_t count = 0;
    plag_arena arena = {0};
    assert_true(
        plag_repair_tell(&(platelag_case_input){PLATELAG_CONDITION_ROAD, &before.fit, &finding},
                         &(platelag_case_input){PLATELAG_CONDITION_AFTER, &after.fit, &finding},
                         platelag_spec_for_bank(spec, 0), &arena, row, &count));
    assert_int_equal(count, rows[i].words != NULL ? 4 : 3);
    assert_non_null(
        strstr(row[0].what, "slower t63 after the repair: 0.23 (0.21 to 0.25), before"));
    assert_int_equal(row[0].speaks_for, PLATELAG_FAMILY_FREE);
    if (rows[i].words != NULL) {
      assert_string_equal(row[1].what, rows[i].words);
      assert_close(row[1].value, rows[i].value, 0, 1e-9);
      assert_int_equal(row[1].speaks_for, rows[i].speaks_for);
      assert_true(row[1].weight > 0);
    }
    plag_arena_clear(&arena);
  }
  platelag_spec_destroy(spec);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_verdict_follows_the_fault_s_figure),
      cmocka_unit_test(figures_are_told_as_they_are_known),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
