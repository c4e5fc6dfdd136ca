/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a key of an INI file may hold; without files, for those who give keys otherwise. */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/ini.h"
#include "core/number.h"
#include "core/text.h"

platelag_status plag_ini_refuse(const plag_ini_key *key, const char *what, const char *found,
                                const char *expected, platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, key->path, key->line, 0,
                        "%s \"%s\"; expected %s", what, found, expected);
}

/* 1000000 as "1,000,000"; what is no whole number, or short, as it is. */
static void add_limit(plag_text *text, double value) {
  char digits[PLAG_NUMBER_TEXT_BYTES];
  const bool grouped = fabs(value) >= 10000 && fabs(value) < 1e15 && value == floor(value);
  if (grouped)
    (void)plag_number_format(value, 0, digits);
  else
    (void)plag_number_format_json(value, 6, digits);
  const size_t length = strlen(digits);
  for (size_t i = 0; i < length; i++) {
    const size_t left = length - i;
    if (grouped && i > 0 && digits[i - 1] != '-' && left % 3 == 0)
      plag_text_add_char(text, ',');
    plag_text_add_char(text, digits[i]);
  }
}

platelag_status plag_ini_number(const plag_ini_key *key, double low, double high, double *out,
                                platelag_error *error) {
  if (plag_number_read_all(key->value, out) && isfinite(*out) && *out >= low && *out <= high)
    return PLATELAG_OK;
  plag_text expected = {0};
  plag_text what = {0};
  plag_text_add(&expected, "a number from ");
  add_limit(&expected, low);
  plag_text_add(&expected, " to ");
  add_limit(&expected, high);
  plag_text_add(&expected, ", with a decimal point");
  plag_text_add_format(&what, "%s is", key->name);
  const platelag_status status =
      expected.failed || what.failed
          ? plag_error_memory(error, "a message")
          : plag_ini_refuse(key, what.bytes, key->value, expected.bytes, error);
  plag_text_clear(&expected);
  plag_text_clear(&what);
  return status;
}
