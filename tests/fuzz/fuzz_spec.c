/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A spec file, then a key set by hand and meter readings, parted by the record separator. */
#include "fuzz.h"

#include <math.h>
#include <string.h>

static void check_valve(const platelag_valve_spec *valve) {
  FUZZ_CHECK(!isinf(valve->closed_v) && !isinf(valve->open_v));
  FUZZ_CHECK(valve->reference_v > 0 && isfinite(valve->reference_v));
  FUZZ_CHECK(valve->decide_at > 0 && valve->decide_at <= 1);
  FUZZ_CHECK(valve->hold_time_s >= 0 && valve->t63_limit_s > 0);
  FUZZ_CHECK(valve->command == NULL || valve->command[0] != '\0');
}

static void check_spec(const platelag_spec *spec) {
  for (int bank = 0; bank <= 2; bank++)
    check_valve(platelag_spec_for_bank(spec, bank));
}

static void set_key(platelag_spec *spec, fuzz_bytes *rest) {
  char key[256];
  char value[256];
  platelag_error error = {0};
  fuzz_bytes part = fuzz_next_part(rest);
  (void)fuzz_text(&part, key, sizeof key);
  part = fuzz_next_part(rest);
  (void)fuzz_text(&part, value, sizeof value);
  const platelag_status status = platelag_spec_set(spec, key, value, &error);
  fuzz_check_error(status, &error);
  check_spec(spec);
}

static void read_meter(fuzz_bytes *rest) {
  char text[256];
  platelag_error error = {0};
  platelag_meter meter = PLATELAG_METER_NONE;
  const fuzz_bytes part = fuzz_next_part(rest);
  const platelag_status status =
      platelag_meter_read(fuzz_text(&part, text, sizeof text), &meter, &error);
  fuzz_check_error(status, &error);
  FUZZ_CHECK(!isinf(meter.signal_v) && !isinf(meter.reference_v) && !isinf(meter.ground_v) &&
             !isinf(meter.supply_v));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  fuzz_bytes rest = {data, size, 0};
  const fuzz_bytes ini = fuzz_next_part(&rest);
  fuzz_file file = fuzz_file_open(&ini);
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  const platelag_status status = platelag_spec_read(file.path, &spec, &error);
  fuzz_check_error(status, &error);
  FUZZ_CHECK((spec != NULL) == (status == PLATELAG_OK));
  if (spec != NULL)
    check_spec(spec);
  platelag_spec_destroy(spec);
  error = (platelag_error){0};
  FUZZ_CHECK(platelag_spec_create(&spec, &error) == PLATELAG_OK);
  set_key(spec, &rest);
  platelag_spec_destroy(spec);
  read_meter(&rest);
  fuzz_file_close(&file);
  return 0;
}
