/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Meter readings are read as written or refused with what was expected. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "platelag/finding.h"

static void readings_are_read(void **state) {
  (void)state;
  static const struct {
    const char *text;
    double signal, reference, ground, supply;
  } row[] = {
      {"signal=4.61,reference=5.02,ground=0.03", 4.61, 5.02, 0.03, NAN},
      {"ground=-0.017", NAN, NAN, -0.017, NAN},
      {"reference=4.87,signal=0.29", 0.29, 4.87, NAN, NAN},
      {"supply=11.83,ground=0.02", NAN, NAN, 0.02, 11.83},
  };
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    platelag_meter meter;
    assert_int_equal(platelag_meter_read(row[i].text, &meter, NULL), PLATELAG_OK);
    assert_close(meter.signal_v, row[i].signal, 0, 1e-12);
    assert_close(meter.reference_v, row[i].reference, 0, 1e-12);
    assert_close(meter.ground_v, row[i].ground, 0, 1e-12);
    assert_close(meter.supply_v, row[i].supply, 0, 1e-12);
  }
}

static void others_are_refused(void **state) {
  (void)state;
  static const struct {
    const char *text, *told;
  } row[] = {
      {"", "expected signal=VOLTS"},
      {"signal", "expected signal=VOLTS"},
      {"signall=4.61", "\"signall=4.61\""},
      {"signal=4,61", "\"61\""},
      {"signal=4.61V", "expected volts"},
      {"signal=", "expected volts"},
      {"signal=4610", "from -48 to 48"},
      {"signal=4.61,signal=4.62", "given twice"},
      {"signal=4.61,", "expected signal=VOLTS"},
  };
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    platelag_meter meter;
    platelag_error error = {0};
    assert_int_equal(platelag_meter_read(row[i].text, &meter, &error), PLATELAG_ERROR_USAGE);
    if (strstr(error.message, row[i].told) == NULL)
      fail_msg("\"%s\": %s", row[i].text, error.message);
    assert_true(isnan(meter.signal_v));
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(readings_are_read),
      cmocka_unit_test(others_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
