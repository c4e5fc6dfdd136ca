/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/text.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/number.h"

static bool make_room(plag_text *text, size_t more) {
  if (!text->failed)
    text->failed =
        more > SIZE_MAX / 4 ||
        !plag_array_reserve((void **)&text->bytes, &text->capacity, text->length + more + 1, 1);
  return !text->failed;
}

void plag_text_add_bytes(plag_text *text, const char *bytes, size_t length) {
  if (!make_room(text, length))
    return;
  if (length > 0)
    memcpy(text->bytes + text->length, bytes, length);
  text->length += length;
  text->bytes[text->length] = '\0';
}

void plag_text_add(plag_text *text, const char *string) {
  plag_text_add_bytes(text, string, strlen(string));
}

void plag_text_add_char(plag_text *text, char character) {
  plag_text_add_bytes(text, &character, 1);
}

void plag_text_add_format(plag_text *text, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  va_list again;
  va_copy(again, arguments);
  /* Most fits where there is room already. */
  const size_t room = text->failed ? 0 : text->capacity - text->length;
  char *const end = room > 0 ? text->bytes + text->length : NULL;
  const int length = vsnprintf(end, room, format, arguments);
  va_end(arguments);
  if (length >= 0 && make_room(text, (size_t)length)) {
    if ((size_t)length >= room)
      (void)vsnprintf(text->bytes + text->length, (size_t)length + 1, format, again);
    text->length += (size_t)length;
  } else if (room > 0) {
    *end = '\0'; /* nothing half written stays */
  }
  va_end(again);
}

void plag_text_add_integer(plag_text *text, int64_t value) {
  enum { MOST = 20 }; /* a sign and 19 digits */
  char digits[MOST];
  char *at = digits + MOST;
  uint64_t left = value < 0 ? -(uint64_t)value : (uint64_t)value;
  do {
    *--at = (char)('0' + left % 10);
    left /= 10;
  } while (left > 0);
  if (value < 0)
    *--at = '-';
  plag_text_add_bytes(text, at, (size_t)(digits + MOST - at));
}

void plag_text_add_number(plag_text *text, double value, int decimals) {
  char digits[PLAG_NUMBER_TEXT_BYTES];
  plag_text_add(text, plag_number_format(value, decimals, digits));
}

void plag_text_reset(plag_text *text) {
  text->length = 0;
  text->failed = false;
  if (text->bytes != NULL)
    text->bytes[0] = '\0';
}

void plag_text_clear(plag_text *text) {
  free(text->bytes);
  *text = (plag_text){0};
}
