/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/text_form.h"

#include <string.h>

/* UTF-16 without a mark: ASCII text has a NUL in every other byte, and hardly any in the rest. */
static plag_text_unit guess_unit(const unsigned char *bytes, size_t size) {
  const size_t pairs = (size < PLAG_TEXT_FORM_BYTES ? size : PLAG_TEXT_FORM_BYTES) / 2;
  size_t nul[2] = {0, 0};
  for (size_t i = 0; i < 2 * pairs; i++)
    nul[i % 2] += bytes[i] == 0;
  if (pairs < 2)
    return PLAG_UNIT_BYTE;
  if (nul[1] * 10 > pairs * 7 && nul[0] * 10 < pairs)
    return PLAG_UNIT_UTF16LE;
  if (nul[0] * 10 > pairs * 7 && nul[1] * 10 < pairs)
    return PLAG_UNIT_UTF16BE;
  return PLAG_UNIT_BYTE;
}

typedef struct mark {
  const char *bytes;
  size_t size;
  plag_text_unit unit;
} mark;

/* The mark at the front; NULL: none. */
static const mark *find_mark(const unsigned char *bytes, size_t size) {
  static const mark marks[] = {{"\xef\xbb\xbf", 3, PLAG_UNIT_BYTE},
                               {"\xc3\xaf\xc2\xbb\xc2\xbf", 6, PLAG_UNIT_BYTE},
                               {"\xff\xfe", 2, PLAG_UNIT_UTF16LE},
                               {"\xfe\xff", 2, PLAG_UNIT_UTF16BE}};
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (size >= marks[i].size && memcmp(bytes, marks[i].bytes, marks[i].size) == 0)
      return &marks[i];
  return NULL;
}

plag_text_form plag_text_form_find(const unsigned char *bytes, size_t size) {
  plag_text_form form = {PLAG_UNIT_BYTE, 0};
  const mark *found = find_mark(bytes, size);
  for (; found != NULL && (form.mark_bytes == 0 || found->unit == form.unit);
       found = find_mark(bytes + form.mark_bytes, size - form.mark_bytes)) {
    form.unit = found->unit;
    form.mark_bytes += found->size;
  }
  if (form.mark_bytes == 0)
    form.unit = guess_unit(bytes, size);
  return form;
}

/* More than one control character in fifty is no text, whatever it is. */
bool plag_text_is_binary(const unsigned char *bytes, size_t size) {
  size_t controls = 0;
  for (size_t i = 0; i < size; i++)
    controls += (bytes[i] < 0x20 && bytes[i] > 0 && (bytes[i] < '\t' || bytes[i] > '\r')) ||
                bytes[i] == 0x7f;
  return controls * 50 > size;
}
