/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/escape.h"

#include <stdbool.h>
#include <string.h>

#define REPLACEMENT "\xef\xbf\xbd"

typedef struct range {
  unsigned from, to;
} range;

static bool is_in(unsigned point, const range *ranges, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (point >= ranges[i].from && point <= ranges[i].to)
      return true;
  return false;
}

static bool is_blank(unsigned point) {
  static const range blanks[] = {{'\t', '\r'}, {0x85, 0x85}, {0x2028, 0x2029}};
  return is_in(point, blanks, sizeof blanks / sizeof blanks[0]);
}

/* C0 and C1 controls, and the marks that turn the writing direction: with these a name could move
 * the cursor or show a text other than its own. */
static bool is_harmful(unsigned point) {
  static const range harmful[] = {{0x00, 0x1f},     {0x7f, 0x9f},     {0x61c, 0x61c},
                                  {0x200e, 0x200f}, {0x202a, 0x202e}, {0x2066, 0x2069}};
  return is_in(point, harmful, sizeof harmful / sizeof harmful[0]);
}

/* Bytes that follow a lead byte, -1 when it is none; sets the lead's own bits. */
static int followers(unsigned char lead, unsigned *bits) {
  static const struct {
    unsigned char mask, mark;
    int count;
  } forms[] = {{0x80, 0x00, 0}, {0xe0, 0xc0, 1}, {0xf0, 0xe0, 2}, {0xf8, 0xf0, 3}};
  for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++)
    if ((lead & forms[i].mask) == forms[i].mark) {
      *bits = lead & (unsigned)(unsigned char)~forms[i].mask;
      return forms[i].count;
    }
  return -1;
}

size_t plag_utf8_read(const char *text, size_t length, unsigned *point) {
  static const unsigned least[] = {0, 0x80, 0x800, 0x10000};
  unsigned value = 0;
  const int more = length > 0 ? followers((unsigned char)text[0], &value) : -1;
  if (more < 0 || (size_t)more >= length)
    return 0;
  for (int i = 1; i <= more; i++) {
    const unsigned char byte = (unsigned char)text[i];
    if ((byte & 0xc0) != 0x80)
      return 0;
    value = value << 6 | (byte & 0x3f);
  }
  if (value < least[more] || value > 0x10ffff || (value >= 0xd800 && value <= 0xdfff))
    return 0;
  *point = value;
  return (size_t)more + 1;
}

size_t plag_utf8_write(unsigned point, char text[4]) {
  static const unsigned char lead[] = {0, 0xc0, 0xe0, 0xf0};
  const size_t more = point < 0x80 ? 0 : point < 0x800 ? 1 : point < 0x10000 ? 2 : 3;
  for (size_t i = more; i > 0; i--, point >>= 6)
    text[i] = (char)(0x80 | (point & 0x3f));
  text[0] = (char)(lead[more] | point);
  return more + 1;
}

static void add_escaped(plag_text *out, const char *text, bool controls_too) {
  const size_t length = strlen(text);
  for (size_t at = 0; at < length;) {
    unsigned point = 0;
    const size_t bytes = plag_utf8_read(text + at, length - at, &point);
    if (controls_too && bytes > 0 && is_blank(point))
      plag_text_add_char(out, ' ');
    else if (bytes == 0 || (controls_too && is_harmful(point)))
      plag_text_add(out, REPLACEMENT);
    else
      plag_text_add_bytes(out, text + at, bytes);
    at += bytes == 0 ? 1 : bytes;
  }
}

void plag_escape_add(plag_text *out, const char *text) {
  add_escaped(out, text, true);
}

void plag_escape_add_utf8(plag_text *out, const char *text) {
  add_escaped(out, text, false);
}

void plag_escape_add_json(plag_text *out, const char *json, size_t length) {
  enum { DEL = 0x7f };
  size_t plain = 0; /* where what is not yet added begins */
  for (size_t at = 0; at < length;) {
    unsigned point = 0;
    const size_t read = plag_utf8_read(json + at, length - at, &point);
    const size_t bytes = read == 0 ? 1 : read;
    if (read > 0 && point >= DEL && is_harmful(point)) {
      plag_text_add_bytes(out, json + plain, at - plain);
      plag_text_add_format(out, "\\u%04x", point);
      plain = at + bytes;
    }
    at += bytes;
  }
  plag_text_add_bytes(out, json + plain, length - plain);
}

size_t plag_utf8_width(const char *text, size_t length) {
  size_t width = 0;
  for (size_t at = 0; at < length; at++)
    width += ((unsigned char)text[at] & 0xc0) != 0x80;
  return width;
}
