/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What form text has, told by its first bytes. */
#ifndef PLAG_READ_TEXT_FORM_H
#define PLAG_READ_TEXT_FORM_H

#include <stdbool.h>
#include <stddef.h>

/* Units that text is made of. UTF-8 and Windows-1252 are both bytes: which, each sequence tells. */
typedef enum plag_text_unit { PLAG_UNIT_BYTE, PLAG_UNIT_UTF16LE, PLAG_UNIT_UTF16BE } plag_text_unit;

typedef struct plag_text_form {
  plag_text_unit unit;
  size_t mark_bytes; /* of byte-order marks in front, to be stepped over; 0: none */
} plag_text_form;

/* How many bytes from the front are looked at. */
enum { PLAG_TEXT_FORM_BYTES = 4096 };

/* The form of what begins with these bytes: a byte-order mark (also several, also one that was
 * taken for Latin-1 and encoded), else the NUL pattern of UTF-16, else bytes. */
plag_text_form plag_text_form_find(const unsigned char *bytes, size_t size);

/* Whether bytes hold more control characters than text does. */
bool plag_text_is_binary(const unsigned char *bytes, size_t size);

#endif
