/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Names come from files that nobody here wrote: what reaches a terminal is made harmless first. */
#ifndef PLAG_CORE_ESCAPE_H
#define PLAG_CORE_ESCAPE_H

#include <stddef.h>

#include "core/text.h"

/* How many bytes the UTF-8 character at the front of `text` has, 0 when it is broken or cut off
 * (overlong forms and surrogates are broken). Sets `*point` to the code point. */
size_t plag_utf8_read(const char *text, size_t length, unsigned *point);

/* Writes a code point as UTF-8 and returns its bytes, 1 to 4. */
size_t plag_utf8_write(unsigned point, char text[4]);

/* Adds `text` as valid UTF-8 without control characters: blanks of any kind become one space each;
 * escape and other control characters, marks that turn the writing direction and broken bytes
 * become U+FFFD. */
void plag_escape_add(plag_text *out, const char *text);

/* Adds `text` as valid UTF-8; only broken bytes become U+FFFD. For formats that escape control
 * characters themselves. */
void plag_escape_add_utf8(plag_text *out, const char *text);

/* Adds a piece of JSON, valid UTF-8 of whole characters: those above ASCII that could move a cursor
 * or turn the writing direction, and DEL, are written as \uXXXX, which says the same to who reads
 * it. They stand in strings alone, since JSON has them nowhere else. */
void plag_escape_add_json(plag_text *out, const char *json, size_t length);

/* Characters in the first `length` bytes of valid UTF-8: the columns that most of them fill. */
size_t plag_utf8_width(const char *text, size_t length);

#endif
