/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The verdict on a repair, fault by fault: the figure that measures it has moved beyond both
 * intervals, or it has not. By hand: settled ends are read to 2 % of travel; void readings are a
 * Poisson count, half a count either side of its root. */
#include "support/check.h"
#include "support/made_fit.h"

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

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_verdict_follows_the_fault_s_figure),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
