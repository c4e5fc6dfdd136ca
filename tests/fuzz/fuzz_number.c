/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A number's text -> the double that strtod reads; and written, it is read back as it was. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/number.h"
#include "fuzz.h"

static bool same(double one, double other) {
  return memcmp(&one, &other, sizeof one) == 0;
}

static void check_against_strtod(const char *text, size_t used, double value) {
  char copy[1024];
  char *end = NULL;
  FUZZ_CHECK(used < sizeof copy);
  memcpy(copy, text, used);
  copy[used] = '\0';
  const double expected = strtod(copy, &end);
  FUZZ_CHECK((size_t)(end - copy) == used);
  FUZZ_CHECK(same(value, expected));
}

static void check_written(double value) {
  char text[PLAG_NUMBER_TEXT_BYTES];
  double again = 0;
  if (!isfinite(value))
    return;
  (void)plag_number_format_json(value, 17, text);
  FUZZ_CHECK(plag_number_read(text, strlen(text), '.', &again) == strlen(text));
  FUZZ_CHECK(value == again);
  for (int decimals = 0; decimals <= 17; decimals += 6) {
    (void)plag_number_format(value, decimals, text);
    FUZZ_CHECK(strlen(text) < sizeof text && strcmp(text, "-0") != 0);
    FUZZ_CHECK(plag_number_read(text, strlen(text), '.', &again) == strlen(text));
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  char text[1024];
  double value = 0;
  fuzz_bytes bytes = {data, size, 0};
  (void)fuzz_text(&bytes, text, sizeof text);
  const size_t length = size < sizeof text - 1 ? size : sizeof text - 1;
  const size_t used = plag_number_read(text, length, '.', &value);
  FUZZ_CHECK(used <= length);
  if (used > 0) {
    check_against_strtod(text, used, value);
    check_written(value);
  }
  const bool has_comma = memchr(text, ',', length) != NULL;
  for (size_t i = 0; i < length; i++)
    if (text[i] == '.')
      text[i] = ',';
  double comma = 0;
  const size_t used_comma = plag_number_read(text, length, ',', &comma);
  if (!has_comma)
    FUZZ_CHECK(used_comma == used && (used == 0 || same(comma, value)));
  return 0;
}
