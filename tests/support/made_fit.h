/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fits made by hand for tests of the judgement: a healthy valve of ten minutes at ten rows a second
 * with a spec, changed by each test where its fault would change it. */
#ifndef PLATELAG_TESTS_MADE_FIT_H
#define PLATELAG_TESTS_MADE_FIT_H

#include "platelag/finding.h"

#define PLAG_TEST_HELD_MOST 40

typedef struct plag_test_record {
  platelag_fit fit;
  platelag_trace trace;
  platelag_valve_spec spec;
  platelag_held held[PLAG_TEST_HELD_MOST];
  platelag_mode_span span[16];
  platelag_step step[8]; /* all settled in good time; the fit lends none of them at first */
} plag_test_record;

/* The healthy valve. The record points into itself: do not copy it. */
void plag_test_make_healthy(plag_test_record *record);

/* What faults change. */
void plag_test_hold(plag_test_record *record, size_t count, double place_pct, double spread_pct);
void plag_test_pin_high(plag_test_record *record, double level_pct, double noise_pct);
void plag_test_pin_low(plag_test_record *record, double level_pct);
void plag_test_stand_still(plag_test_record *record, double travel_pct, bool dither);
void plag_test_lag(plag_test_record *record, double opening_t63_s, double closing_t63_s);
void plag_test_drop_out(plag_test_record *record, size_t count, double spread_pct,
                        double moving_share);
/* A hand sweep of a valve over `span_pct` of its travel. */
void plag_test_sweep(plag_test_record *record, double span_pct, size_t spots);

#endif
