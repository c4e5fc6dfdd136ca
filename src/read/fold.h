/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Names and words made comparable: ASCII, lower case, marks off the letters. */
#ifndef PLAG_READ_FOLD_H
#define PLAG_READ_FOLD_H

#include <stdbool.h>
#include <stddef.h>

enum { PLAG_FOLDED_BYTES = 256 };

/* Writes UTF-8 `text` into `out` (PLAG_FOLDED_BYTES, cut there) as lower-case words, one blank
 * before and behind each: "ImrcPosition [B1]" gives " imrc position b1 ". Letters lose their marks
 * (a with dots: a; sharp s: ss), what is no letter or digit parts words, as does a capital behind a
 * small letter. Bytes that are no UTF-8 part words. Returns the length. */
size_t plag_fold_words(const char *text, size_t length, char out[PLAG_FOLDED_BYTES]);

/* Writes `text` in lower case without marks and without anything that is no letter, digit or sign:
 * two names that differ only in case and blanks fold to the same. Returns the length. */
size_t plag_fold_name(const char *text, size_t length, char out[PLAG_FOLDED_BYTES]);

/* The edit distance of two folded names, for "did you mean". */
size_t plag_fold_distance(const char *one, const char *other);

#endif
