/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a key of an INI file may hold; without files, for those who give keys otherwise. */
#include <math.h>

#include "core/error.h"
#include "core/ini.h"
#include "core/number.h"
#include "core/text.h"

platelag_status plag_ini_refuse(const plag_ini_key *key, const char *what, const char *found,
                                const char *expected, platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, key->path, key->line, 0,
                        "%s \"%s\"; expected %s", what, found, expected);
}

platelag_status plag_ini_number(const plag_ini_key *key, double low, double high, double *out,
                                platelag_error *error) {
  char low_text[PLAG_NUMBER_TEXT_BYTES];
  char high_text[PLAG_NUMBER_TEXT_BYTES];
  if (plag_number_read_all(key->value, out) && isfinite(*out) && *out >= low && *out <= high)
    return PLATELAG_OK;
  plag_text expected = {0};
  plag_text what = {0};
  plag_text_add_format(&expected, "a number from %s to %s, with a decimal point",
                       plag_number_format_json(low, 6, low_text),
                       plag_number_format_json(high, 6, high_text));
  plag_text_add_format(&what, "%s is", key->name);
  const platelag_status status =
      expected.failed || what.failed
          ? plag_error_memory(error, "a message")
          : plag_ini_refuse(key, what.bytes, key->value, expected.bytes, error);
  plag_text_clear(&expected);
  plag_text_clear(&what);
  return status;
}
