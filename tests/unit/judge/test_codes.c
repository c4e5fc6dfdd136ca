/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The trace sets the codes of its own bank, and a stored code is held against what the trace shows.
 */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "judge/code_table.h"
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

static const struct {
  const char *name;
  void (*change)(plag_test_record *record);
  int bank;
  const char *stored; /* NULL: none */
  const char *code;   /* looked for */
  bool listed, is_stored, supported;
  double at_s;
} row[] = {
    {"a high signal sets its code", pinned, 1, NULL, "P2017", true, false, true, 0.731},
    {"on bank 2 the other", pinned, 2, NULL, "P2022", true, false, true, 0.731},
    {"and not bank 1's", pinned, 2, NULL, "P2017", false, false, false, NAN},
    {"a low signal", low, 1, NULL, "P2016", true, false, true, 0.811},
    {"lost readings", drops_out, 1, NULL, "P2018", true, false, true, NAN},
    {"plates that stick set the sensor's code", sticks, 1, "P2015", "P2015", true, true, true, 7.3},
    {"a stored code that nothing supports", healthy, 1, "p2017", "P2017", true, true, false, NAN},
    {"stored for bank 2, a valve without a bank", pinned, 0, "P2022", "P2022", true, true, true,
     0.731},
    {"and bank 1's is not expected then", pinned, 0, "P2022", "P2017", false, false, false, NAN},
    {"a valve without a bank is bank 1", pinned, 0, NULL, "P2017", true, false, true, 0.731},
    {"stored for the other bank", pinned, 1, "P2022", "P2022", true, true, false, NAN},
    {"a sweep by hand past the stop sets none", swept_past_stop, 1, NULL, "P2017", false, false,
     false, NAN},
    {"nor supports one", swept_past_stop, 1, "P2017", "P2017", true, true, false, NAN},
    {"a code of another circuit", healthy, 1, "P0171", "P0171", true, true, false, NAN},
    {"a healthy valve sets none", healthy, 1, NULL, "P2015", false, false, false, NAN},
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
        .code = &row[i].stored, .code_count = row[i].stored != NULL, .meter = {NAN, NAN, NAN}};
    platelag_finding *finding = NULL;
    assert_int_equal(platelag_finding_judge(&record.fit, &record.trace, &record.spec,
                                            &circumstances, &finding, NULL),
                     PLATELAG_OK);
    const platelag_code *code = find(finding, row[i].code);
    assert_int_equal(code != NULL, row[i].listed);
    if (code != NULL) {
      assert_int_equal(code->stored, row[i].is_stored);
      assert_int_equal(code->supported, row[i].supported);
      assert_close(code->at_s, row[i].at_s, 0, 1e-6);
      assert_true(strlen(code->basis) > 10);
    }
    platelag_finding_destroy(finding);
  }
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
      cmocka_unit_test(the_table_is_in_order),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
