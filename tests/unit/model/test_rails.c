/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the signal's rails lie: at the limits of the spec, but never short of a stop that the spec
 * itself puts past one, and nowhere where the unit hides them. */
#include <math.h>

#include "model/rails.h"
#include "support/check.h"
#include "support/made_fit.h"

static const struct {
  const char *name;
  platelag_scale scale;
  double closed_v, open_v, low_pct, high_pct; /* of a reference of 5 V; limits 5 and 90 % */
} CASES[] = {
    {"stops between the limits", PLATELAG_SCALE_SPEC, 1.13, 3.87, 5.0, 90.0},
    {"open stop past the upper one", PLATELAG_SCALE_SPEC, 1.13, 4.61, 5.0, 95.2},
    {"closed stop past it, counting down", PLATELAG_SCALE_SPEC, 4.61, 1.13, 5.0, 95.2},
    {"closed stop past the lower one", PLATELAG_SCALE_SPEC, 0.22, 3.87, 1.4, 90.0},
    {"within three percent of a limit", PLATELAG_SCALE_SPEC, 0.31, 4.43, 3.2, 91.6},
    {"a learned stop proves nothing", PLATELAG_SCALE_LEARNED, 0.22, 4.61, 5.0, 90.0},
};

static void a_stop_of_the_spec_moves_the_rail(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
    static plag_test_record record;
    plag_test_make_healthy(&record);
    platelag_trace *trace = &record.trace;
    trace->scale = CASES[i].scale;
    trace->volts_per_level = 1.0;
    trace->reference_v = 5.0;
    trace->closed_level = CASES[i].closed_v;
    trace->open_level = CASES[i].open_v;
    record.spec.low_limit_pct = 5.0;
    record.spec.high_limit_pct = 90.0;
    const plag_model model = {.trace = trace, .spec = &record.spec};
    const plag_rails rails = plag_rails_of(&model);
    print_message("%s\n", CASES[i].name);
    assert_true(rails.visible);
    assert_close(rails.low_pct, CASES[i].low_pct, 0, 1e-9);
    assert_close(rails.high_pct, CASES[i].high_pct, 0, 1e-9);
    assert_int_equal(plag_rails_side(&rails, trace, 0.05 * CASES[i].low_pct - 0.01), -1);
    assert_int_equal(plag_rails_side(&rails, trace, 0.05 * CASES[i].low_pct + 0.01), 0);
    assert_int_equal(plag_rails_side(&rails, trace, 0.05 * CASES[i].high_pct - 0.01), 0);
    assert_int_equal(plag_rails_side(&rails, trace, 0.05 * CASES[i].high_pct + 0.01), 1);
  }
}

static void a_unit_may_hide_them(void **state) {
  static plag_test_record record;
  (void)state;
  plag_test_make_healthy(&record);
  record.trace.volts_per_level = NAN;
  const plag_model model = {.trace = &record.trace, .spec = &record.spec};
  const plag_rails rails = plag_rails_of(&model);
  assert_false(rails.visible);
  assert_int_equal(plag_rails_side(&rails, &record.trace, 5.0), 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_stop_of_the_spec_moves_the_rail),
      cmocka_unit_test(a_unit_may_hide_them),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
