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
  const int length = vsnprintf(NULL, 0, format, arguments);
  va_end(arguments);
  if (length >= 0 && make_room(text, (size_t)length)) {
    (void)vsnprintf(text->bytes + text->length, (size_t)length + 1, format, again);
    text->length += (size_t)length;
  }
  va_end(again);
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
