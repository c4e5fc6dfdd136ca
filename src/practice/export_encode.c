/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/export.h"

/* The texts that are exported stay within U+0000..U+FFFF. */
static size_t take_code(const char *bytes, unsigned *code) {
  const unsigned char *at = (const unsigned char *)bytes;
  if (at[0] < 0x80) {
    *code = at[0];
    return 1;
  }
  if (at[0] < 0xE0) {
    *code = (unsigned)(at[0] & 0x1F) << 6 | (at[1] & 0x3F);
    return 2;
  }
  *code = (unsigned)(at[0] & 0x0F) << 12 | (unsigned)(at[1] & 0x3F) << 6 | (at[2] & 0x3F);
  return 3;
}

static void add_code(plag_export_encoding encoding, unsigned code, plag_text *to) {
  const char low = (char)(code & 0xFF), high = (char)(code >> 8);
  switch (encoding) {
  case PLAG_ENCODING_WINDOWS_1252:
    plag_text_add_char(to, code <= 0xFF ? low : '?');
    return;
  case PLAG_ENCODING_UTF16LE:
  case PLAG_ENCODING_UTF16LE_MARK:
    plag_text_add_char(to, low);
    plag_text_add_char(to, high);
    return;
  default:
    plag_text_add_char(to, high);
    plag_text_add_char(to, low);
    return;
  }
}

static void add_mark(plag_export_encoding encoding, plag_text *to) {
  if (encoding == PLAG_ENCODING_UTF8_MARK)
    plag_text_add(to, "\xEF\xBB\xBF");
  else if (encoding == PLAG_ENCODING_UTF16LE_MARK || encoding == PLAG_ENCODING_UTF16BE_MARK)
    add_code(encoding, 0xFEFF, to);
}

void plag_export_encode(const plag_export_layout *layout, bool mark, const plag_text *from,
                        plag_text *to) {
  const plag_export_encoding encoding = layout->encoding;
  const bool as_is = encoding <= PLAG_ENCODING_UTF8_MARK;
  const char *line_end = layout->line_end != NULL ? layout->line_end : "\n";
  if (mark)
    add_mark(encoding, to);
  if (as_is && line_end[0] == '\n') {
    plag_text_add_bytes(to, from->bytes, from->length);
    return;
  }
  for (size_t at = 0; at < from->length;) {
    if (from->bytes[at] == '\n') {
      at++;
      for (const char *end = line_end; *end != '\0'; end++)
        if (as_is)
          plag_text_add_char(to, *end);
        else
          add_code(encoding, (unsigned char)*end, to);
      continue;
    }
    unsigned code = 0;
    const size_t length = take_code(from->bytes + at, &code);
    if (as_is)
      plag_text_add_bytes(to, from->bytes + at, length);
    else
      add_code(encoding, code, to);
    at += length;
  }
}
