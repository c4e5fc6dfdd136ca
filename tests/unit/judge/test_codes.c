/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The trace sets the codes of its own bank, and a stored code is held against what the trace shows.
 */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "judge/code_table.h"
#include "judge/facts.h"
#include "support/made_fit.h"

static void pinned(plag_test_record *r) {
  plag_test_pin_high(r, 98.9, 0.0);
}
static void low(plag_test_record *r) {
  plag_test_pin_low(r, 0.6);
}
static void sticks(plag_test_record *r) {
  plag_test_hold(r, 14, 47.3, 61);
  r->fit.friction.stick_band_pct = (platelag_estimate){PLATELAG_KNOWN_VALUE, 16.7, 14.9, 18.3};
}
static void healthy(plag_test_record *r) {
  (void)r;
}
static void swept_past_stop(plag_test_record *r) {
  r->trace.condition = PLATELAG_CONDITION_HAND_SWEEP;
  plag_test_pin_high(r, 97.2, 0.3);
}
static void drops_out(plag_test_record *r) {
  plag_test_drop_out(r, 23, 31.7, 0.29);
}

static void stands_open(plag_test_record *r) {
  plag_test_stand_still(r, 97.3, true);
}
static void in_pct_open(plag_test_record *r) {
  r->fit.signal.rails_visible = false;
}

#define YES  PLATELAG_CODE_SUPPORTED
#define NO   PLATELAG_CODE_CONTRADICTED
#define OPEN PLATELAG_CODE_CANNOT_TELL
static const struct {
  const char *name;
  void (*change)(plag_test_record *record);
  int bank;
  const char *stored; /* NULL: none */
  const char *code;   /* looked for */
  bool listed, is_stored;
  platelag_code_verdict verdict;
  double at_s;
} row[] = {
    {"a high signal sets its code", pinned, 1, NULL, "P2017", true, false, YES, 0.731},
    {"on bank 2 the other", pinned, 2, NULL, "P2022", true, false, YES, 0.731},
    {"and not bank 1's", pinned, 2, NULL, "P2017", false, false, NO, NAN},
    {"a low signal", low, 1, NULL, "P2016", true, false, YES, 0.811},
    {"lost readings", drops_out, 1, NULL, "P2018", true, false, YES, NAN},
    {"plates that stick set the sensor's code", sticks, 1, "P2015", "P2015", true, true, YES, 7.3},
    {"a stored code that nothing supports", healthy, 1, "p2017", "P2017", true, true, NO, NAN},
    {"stored for bank 2, a valve without a bank", pinned, 0, "P2022", "P2022", true, true, YES,
     0.731},
    {"and bank 1's is not expected then", pinned, 0, "P2022", "P2017", false, false, NO, NAN},
    {"a valve without a bank is bank 1", pinned, 0, NULL, "P2017", true, false, YES, 0.731},
    {"stored for the other bank", pinned, 1, "P2022", "P2022", true, true, OPEN, NAN},
    {"a sweep by hand past the stop sets none", swept_past_stop, 1, NULL, "P2017", false, false, NO,
     NAN},
    {"nor supports one", swept_past_stop, 1, "P2017", "P2017", true, true, OPEN, NAN},
    {"a code of another circuit", healthy, 1, "P0171", "P0171", true, true, OPEN, NAN},
    {"a healthy valve sets none", healthy, 1, NULL, "P2015", false, false, NO, NAN},
    {"a stored performance code, free plates", healthy, 1, "P200A", "P200A", true, true, NO, NAN},
    {"a sensor's, with the stops in place", healthy, 1, "P2015", "P2015", true, true, NO, NAN},
    {"stuck, of plates that move", healthy, 1, "P2004", "P2004", true, true, NO, NAN},
    {"what comes and goes need not come", healthy, 1, "P2018", "P2018", true, true, OPEN, NAN},
    {"an open control wire, of plates that answer", healthy, 1, "P2008", "P2008", true, true, NO,
     NAN},
    {"a shorted one as well", healthy, 1, "P2010", "P2010", true, true, NO, NAN},
    {"stands open", stands_open, 1, NULL, "P2004", true, false, YES, 0},
    {"and not closed", stands_open, 1, "P2006", "P2006", true, true, NO, NAN},
    {"a sensor's limits behind % open", in_pct_open, 1, "P2017", "P2017", true, true, OPEN, NAN},
    {"a performance code of a lost signal", pinned, 1, "P200A", "P200A", true, true, OPEN, NAN},
};

static const platelag_code *find(const platelag_finding *finding, const char *name) {
  for (size_t i = 0; i < finding->code_count; i++)
    if (strcmp(finding->code[i].code, name) == 0)
      return &finding->code[i];
  return NULL;
}

static void codes_agree_with_the_trace(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    print_message("%s\n", row[i].name);
    plag_test_record record;
    plag_test_make_healthy(&record);
    row[i].change(&record);
    record.trace.bank = row[i].bank;
    const platelag_circumstances circumstances = {
        .code = &row[i].stored, .code_count = row[i].stored != NULL, .meter = PLATELAG_METER_NONE};
    platelag_finding *finding = NULL;
    assert_int_equal(platelag_finding_judge(&record.fit, &record.trace, &record.spec,
                                            &circumstances, &finding, NULL),
                     PLATELAG_OK);
    const platelag_code *code = find(finding, row[i].code);
    assert_int_equal(code != NULL, row[i].listed);
    if (code != NULL) {
      assert_int_equal(code->stored, row[i].is_stored);
      assert_int_equal(code->verdict, row[i].verdict);
      assert_close(code->at_s, row[i].at_s, 0, 1e-6);
      assert_true(strlen(code->basis) > 10);
    }
    platelag_finding_destroy(finding);
  }
}

/* --- voltages: the sensor's reference and the actuator's supply --------------------------------
 */

enum { READINGS = 40 };

/* Ten readings a second; from the 17th on `count` of them are `out_v`. */
typedef struct made_channel {
  platelag_channel channel;
  int64_t time_ns[READINGS];
  double value[READINGS];
} made_channel;

static const platelag_channel *make(made_channel *made, double usual_v, double out_v,
                                    size_t count) {
  for (size_t i = 0; i < READINGS; i++) {
    made->time_ns[i] = (int64_t)i * 100000000;
    made->value[i] = i >= 16 && i < 16 + count ? out_v : usual_v;
  }
  made->channel = (platelag_channel){.unit = PLATELAG_UNIT_VOLT,
                                     .count = READINGS,
                                     .present = READINGS,
                                     .time_ns = made->time_ns,
                                     .value = made->value};
  return &made->channel;
}

#define NONE PLATELAG_ROLE_NONE
#define REF  PLATELAG_ROLE_SENSOR_REFERENCE
#define BATT PLATELAG_ROLE_BATTERY_VOLTAGE
#define SUPP PLATELAG_ROLE_ACTUATOR_SUPPLY
#define CURR PLATELAG_ROLE_ACTUATOR_CURRENT
static const struct {
  const char *name;
  platelag_role role; /* of the channel; NONE: not recorded */
  double usual_v, out_v;
  size_t out;
  double meter_v; /* of the reference, or of the supply for a code of the supply */
  double current_a;
  bool still; /* the plates do not move */
  const char *code;
  bool stored, listed;
  platelag_code_verdict verdict;
  double at_s, value, limit;
} volt[] = {
    {"a reference that sags", REF, 5.01, 3.17, 9, NAN, NAN, false, "P0642", false, true, YES, 2.1,
     3.17, 4.75},
    {"that of B as well", REF, 5.01, 3.17, 9, NAN, NAN, false, "P0652", true, true, YES, 2.1, 3.17,
     4.75},
    {"its circuit too", REF, 5.01, 3.17, 9, NAN, NAN, false, "P0641", true, true, YES, 2.1, 3.17,
     4.75},
    {"which is not high", REF, 5.01, 3.17, 9, NAN, NAN, false, "P0643", true, true, NO, NAN, 5.01,
     5.25},
    {"dips too short to count", REF, 5.01, 3.17, 3, NAN, NAN, false, "P0642", true, true, OPEN, NAN,
     3.17, 4.75},
    {"set no code", REF, 5.01, 3.17, 3, NAN, NAN, false, "P0642", false, false, NO, NAN, NAN, NAN},
    {"a reference shorted to the supply", REF, 5.02, 7.93, 13, NAN, NAN, false, "P0653", true, true,
     YES, 2.1, 7.93, 5.25},
    {"a sound one", REF, 4.98, 0, 0, NAN, NAN, false, "P0651", true, true, NO, NAN, 4.98, 4.75},
    {"not recorded", NONE, 0, 0, 0, NAN, NAN, false, "P0641", true, true, OPEN, NAN, NAN, NAN},
    {"measured low", NONE, 0, 0, 0, 4.21, NAN, false, "P0642", false, true, YES, NAN, 4.21, 4.75},
    {"measured high", NONE, 0, 0, 0, 5.61, NAN, false, "P0643", true, true, YES, NAN, 5.61, 5.25},
    {"measured sound", NONE, 0, 0, 0, 5.02, NAN, false, "P0641", true, true, NO, NAN, 5.02, 4.75},
    {"an actuator's supply that fails", SUPP, 13.7, 6.43, 9, NAN, NAN, false, "P0658", false, true,
     YES, 2.1, 6.43, 10.5},
    {"its circuit too", SUPP, 13.7, 6.43, 9, NAN, NAN, false, "P0657", true, true, YES, 2.1, 6.43,
     10.5},
    {"too high", SUPP, 13.7, 17.9, 9, NAN, NAN, false, "P0659", true, true, YES, 2.1, 17.9, 16.0},
    {"a sound supply", SUPP, 13.7, 0, 0, NAN, NAN, false, "P0658", true, true, NO, NAN, 13.7, 10.5},
    {"measured at the actuator", BATT, 13.7, 0, 0, 2.87, NAN, true, "P0658", true, true, YES, NAN,
     2.87, 10.5},
    {"a sound battery says nothing", BATT, 13.7, 0, 0, NAN, NAN, true, "P0658", true, true, OPEN,
     NAN, NAN, NAN},
    {"an empty one takes it along", BATT, 13.1, 8.87, 9, NAN, NAN, false, "P0658", true, true, YES,
     2.1, 8.87, 10.5},
    {"but another code is set for that", BATT, 13.1, 8.87, 9, NAN, NAN, false, "P0658", false,
     false, NO, NAN, NAN, NAN},
    {"no current while commanded", BATT, 13.7, 0, 0, NAN, 0.013, true, "P0657", true, true, YES, 0,
     0.013, 0.05},
    {"current flows", BATT, 13.7, 0, 0, NAN, 1.37, true, "P0657", true, true, NO, NAN, 1.37, 0.05},
    {"plates that answer are supplied", NONE, 0, 0, 0, NAN, NAN, false, "P0657", true, true, NO,
     NAN, NAN, NAN},
};

static void voltages_are_held_against_their_limits(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof volt / sizeof volt[0]; i++) {
    print_message("%s: %s\n", volt[i].name, volt[i].code);
    static made_channel made;
    plag_test_record record;
    plag_test_make_healthy(&record);
    if (volt[i].still)
      plag_test_stand_still(&record, 3.7, true);
    if (volt[i].role != NONE)
      record.trace.auxiliary[volt[i].role] =
          make(&made, volt[i].usual_v, volt[i].out_v, volt[i].out);
    record.fit.auxiliary.current_commanded_a = volt[i].current_a;
    const bool supply = strcmp(volt[i].code, "P0657") >= 0;
    const platelag_circumstances circumstances = {
        .code = &volt[i].code,
        .code_count = volt[i].stored,
        .meter = {NAN, supply ? NAN : volt[i].meter_v, NAN, supply ? volt[i].meter_v : NAN}};
    platelag_finding *finding = NULL;
    assert_int_equal(platelag_finding_judge(&record.fit, &record.trace, &record.spec,
                                            &circumstances, &finding, NULL),
                     PLATELAG_OK);
    const platelag_code *code = find(finding, volt[i].code);
    assert_int_equal(code != NULL, volt[i].listed);
    if (code != NULL) {
      print_message("    %s\n", code->basis);
      assert_int_equal(code->verdict, volt[i].verdict);
      assert_close(code->at_s, volt[i].at_s, 0, 1e-6);
      if (isfinite(volt[i].limit)) {
        assert_close(code->value, volt[i].value, 0, 1e-9);
        assert_close(code->limit, volt[i].limit, 0, 1e-9);
      }
    }
    platelag_finding_destroy(finding);
  }
}

/* Each stored code is a row of evidence that weighs nothing. */
static void stored_codes_are_evidence(void **state) {
  (void)state;
  static const char *const stored[] = {"P2017", "P2018", "P2022", "U0073"};
  static const char *const said[] = {"supported; at or above 90 %", "cannot be told",
                                     "cannot be told", "cannot be told"};
  plag_test_record record;
  plag_test_make_healthy(&record);
  plag_test_pin_high(&record, 98.9, 0.0);
  record.trace.bank = 1;
  const platelag_circumstances circumstances = {
      .code = stored, .code_count = 4, .meter = PLATELAG_METER_NONE};
  platelag_finding *finding = NULL;
  assert_int_equal(platelag_finding_judge(&record.fit, &record.trace, &record.spec, &circumstances,
                                          &finding, NULL),
                   PLATELAG_OK);
  size_t rows = 0;
  for (size_t i = 0; i < finding->evidence_count; i++) {
    const platelag_evidence *told = &finding->evidence[i];
    if (told->source != PLATELAG_EVIDENCE_CODE)
      continue;
    print_message("%s: %.3g, limit %.3g %s\n", told->what, told->value, told->limit, told->unit);
    for (size_t k = 0; k < 4; k++)
      if (strstr(told->what, stored[k]) != NULL)
        assert_non_null(strstr(told->what, said[k]));
    assert_close(told->weight, 0, 0, 0);
    assert_int_equal(told->speaks_for, PLATELAG_FAMILY_UNDECIDED);
    rows++;
  }
  assert_int_equal(rows, 4);
  platelag_finding_destroy(finding);
}

/* Plates that stand although they are asked to move: the code of their performance is told with the
 * share of the travel asked for that they made. */
static void a_poor_answer_has_its_figure(void **state) {
  (void)state;
  static const char *const stored[] = {"P200A"};
  plag_test_record record;
  plag_test_make_healthy(&record);
  plag_test_stand_still(&record, 47.1, true);
  record.fit.travel.lowest_pct = 45.2; /* of 3.8 % four times 0.39 are noise */
  record.fit.travel.highest_pct = 49.0;
  record.trace.bank = 1;
  const platelag_circumstances circumstances = {
      .code = stored, .code_count = 1, .meter = PLATELAG_METER_NONE};
  plag_facts facts;
  plag_facts_take(&record.fit, &record.trace, &record.spec, &facts);
  const double share = facts.fact[PLAG_FEATURE_MOVED].value;
  assert_close(share, (3.8 - 4 * 0.39) / 87.1, 1e-9, 0);
  platelag_finding *finding = NULL;
  assert_int_equal(platelag_finding_judge(&record.fit, &record.trace, &record.spec, &circumstances,
                                          &finding, NULL),
                   PLATELAG_OK);
  assert_int_equal(finding->kind, PLATELAG_FINDING_STILL);
  const platelag_code *code = find(finding, "P200A");
  assert_non_null(code);
  assert_int_equal(code->verdict, PLATELAG_CODE_SUPPORTED);
  assert_string_equal(code->unit, "% of the travel asked for");
  assert_close(code->value, 100.0 * share, 1e-9, 0);
  platelag_finding_destroy(finding);
}

static void the_table_is_in_order(void **state) {
  (void)state;
  for (size_t i = 0; i < plag_code_count(); i++) {
    const plag_code_row *code = plag_code_at(i);
    assert_ptr_equal(plag_code_find(code->code), code); /* once each */
    assert_int_equal(strlen(code->code), 5);
    assert_true(code->claim < PLAG_CLAIM_COUNT);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(codes_agree_with_the_trace),
      cmocka_unit_test(voltages_are_held_against_their_limits),
      cmocka_unit_test(stored_codes_are_evidence),
      cmocka_unit_test(a_poor_answer_has_its_figure),
      cmocka_unit_test(the_table_is_in_order),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
