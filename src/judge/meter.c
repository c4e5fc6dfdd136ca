/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Meter readings as the user writes them: "signal=4.61,reference=5.02,ground=0.03,supply=13.9". */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/number.h"
#include "platelag/finding.h"

/* A 5 V sensor circuit; beyond this the meter stood on another pin or another range. */
#define METER_MOST_V 48.0

static double *part_named(platelag_meter *meter, const char *name, size_t length) {
  const struct {
    const char *name;
    double *value;
  } part[] = {{"signal", &meter->signal_v},
              {"reference", &meter->reference_v},
              {"ground", &meter->ground_v},
              {"supply", &meter->supply_v}};
  for (size_t i = 0; i < sizeof part / sizeof part[0]; i++)
    if (strlen(part[i].name) == length && memcmp(part[i].name, name, length) == 0)
      return part[i].value;
  return NULL;
}

static bool read_value(const char *text, size_t length, double *value) {
  return length > 0 && plag_number_read(text, length, '.', value) == length &&
         fabs(*value) <= METER_MOST_V;
}

static platelag_status read_part(const char *text, size_t length, platelag_meter *meter,
                                 platelag_error *error) {
  const char *equals = memchr(text, '=', length);
  const size_t name_length = equals == NULL ? length : (size_t)(equals - text);
  double *value = part_named(meter, text, name_length);
  double found = NAN;
  if (equals == NULL || value == NULL)
    return plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                          "meter reading \"%.*s\": expected signal=VOLTS, reference=VOLTS, "
                          "ground=VOLTS or supply=VOLTS",
                          (int)(length < 80 ? length : 80), text);
  if (!isnan(*value))
    return plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                          "meter reading \"%.*s\" is given twice", (int)name_length, text);
  if (!read_value(equals + 1, length - name_length - 1, &found))
    return plag_error_set(
        error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
        "meter reading \"%.*s\"; expected volts with a decimal point, from -48 to "
        "48",
        (int)(length < 80 ? length : 80), text);
  *value = found;
  return PLATELAG_OK;
}

platelag_status platelag_meter_read(const char *text, platelag_meter *out, platelag_error *error) {
  platelag_meter meter = PLATELAG_METER_NONE;
  *out = meter;
  for (const char *part = text;;) {
    const size_t length = strcspn(part, ",");
    const platelag_status status = read_part(part, length, &meter, error);
    if (status != PLATELAG_OK)
      return status;
    if (part[length] == '\0')
      break;
    part += length + 1;
  }
  *out = meter;
  return PLATELAG_OK;
}
