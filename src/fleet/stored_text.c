/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/stored_text.h"

#include <string.h>

#include "core/escape.h"

/* U+10FE80 to U+10FEFF, characters of four bytes. */
enum { FIRST = 0x10fe80, COUNT = 128, BYTES = 4 };

static bool is_kept(unsigned point) {
  return point >= FIRST && point < FIRST + COUNT;
}

/* The bytes of the next character that needs no keeping; 0: the next byte is to be kept. */
static size_t plain_bytes(const char *text, size_t length) {
  unsigned point = 0;
  const size_t bytes = plag_utf8_read(text, length, &point);
  return bytes > 0 && !is_kept(point) ? bytes : 0;
}

bool plag_stored_text_is_plain(const char *text) {
  size_t length = strlen(text);
  while (length > 0) {
    const size_t bytes = plain_bytes(text, length);
    if (bytes == 0)
      return false;
    text += bytes;
    length -= bytes;
  }
  return true;
}

static void keep_byte(plag_text *out, unsigned char byte) {
  const unsigned point = FIRST + byte - COUNT;
  const unsigned char bytes[BYTES] = {
      (unsigned char)(0xf0 | point >> 18), (unsigned char)(0x80 | (point >> 12 & 0x3f)),
      (unsigned char)(0x80 | (point >> 6 & 0x3f)), (unsigned char)(0x80 | (point & 0x3f))};
  plag_text_add_bytes(out, (const char *)bytes, BYTES);
}

void plag_stored_text_pack(plag_text *out, const char *text) {
  const size_t length = strlen(text);
  plag_text_add(out, "");
  for (size_t at = 0; at < length;) {
    const size_t bytes = plain_bytes(text + at, length - at);
    if (bytes == 0)
      keep_byte(out, (unsigned char)text[at]);
    else
      plag_text_add_bytes(out, text + at, bytes);
    at += bytes == 0 ? 1 : bytes;
  }
}

bool plag_stored_text_is_same(const char *stored) {
  return strstr(stored, "\xf4\x8f\xba") == NULL && strstr(stored, "\xf4\x8f\xbb") == NULL;
}

void plag_stored_text_unpack(plag_text *out, const char *stored) {
  const size_t length = strlen(stored);
  plag_text_add(out, "");
  for (size_t at = 0; at < length;) {
    unsigned point = 0;
    const size_t bytes = plag_utf8_read(stored + at, length - at, &point);
    if (bytes > 0 && is_kept(point))
      plag_text_add_char(out, (char)(unsigned char)(point - FIRST + COUNT));
    else
      plag_text_add_bytes(out, stored + at, bytes == 0 ? 1 : bytes);
    at += bytes == 0 ? 1 : bytes;
  }
}
