/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/fold.h"

#include <stdint.h>
#include <string.h>

/* Letters U+00C0..U+00FF without their marks; a capital letter asks for two ("AE"), '\0' for what
 * is no letter. */
static const char latin_letter[64] = {
    'a', 'a', 'a', 'a', 'a', 'a', 'A', 'c', 'e', 'e', 'e', 'e', 'i', 'i', 'i', 'i',
    'd', 'n', 'o', 'o', 'o', 'o', 'o', 0,   'o', 'u', 'u', 'u', 'u', 'y', 't', 'S',
    'a', 'a', 'a', 'a', 'a', 'a', 'A', 'c', 'e', 'e', 'e', 'e', 'i', 'i', 'i', 'i',
    'd', 'n', 'o', 'o', 'o', 'o', 'o', 0,   'o', 'u', 'u', 'u', 'u', 'y', 't', 'y'};

static bool is_lower(unsigned char byte) {
  return byte >= 'a' && byte <= 'z';
}

static bool is_upper(unsigned char byte) {
  return byte >= 'A' && byte <= 'Z';
}

static bool is_digit(unsigned char byte) {
  return byte >= '0' && byte <= '9';
}

/* The folded letters at `text[*at]` into `letters`; moves `*at` behind what was read. Returns how
 * many, 0 for what is none. */
static size_t fold_letter(const char *text, size_t length, size_t *at, char letters[2]) {
  const unsigned char byte = (unsigned char)text[(*at)++];
  if (byte < 0x80) {
    letters[0] = (char)(is_upper(byte) ? byte + 32 : byte);
    return is_lower(byte) || is_upper(byte) || is_digit(byte);
  }
  if (byte != 0xC3 || *at >= length || ((unsigned char)text[*at] & 0xC0) != 0x80) {
    while (*at < length && ((unsigned char)text[*at] & 0xC0) == 0x80)
      (*at)++;
    return 0;
  }
  const char letter = latin_letter[(unsigned char)text[(*at)++] & 0x3F];
  if (letter == 0)
    return 0;
  letters[0] = letter == 'A' ? 'a' : letter == 'S' ? 's' : letter;
  letters[1] = letter == 'A' ? 'e' : 's';
  return letter == 'A' || letter == 'S' ? 2 : 1;
}

size_t plag_fold_words(const char *text, size_t length, char out[PLAG_FOLDED_BYTES]) {
  size_t used = 0;
  bool was_small = false;
  out[used++] = ' ';
  for (size_t at = 0; at < length && used + 4 < PLAG_FOLDED_BYTES;) {
    const bool capital = is_upper((unsigned char)text[at]);
    const bool small = is_lower((unsigned char)text[at]) || (unsigned char)text[at] >= 0x80;
    char letters[2];
    const size_t count = fold_letter(text, length, &at, letters);
    if ((count == 0 || (capital && was_small)) && out[used - 1] != ' ')
      out[used++] = ' ';
    for (size_t i = 0; i < count; i++)
      out[used++] = letters[i];
    was_small = small && count > 0;
  }
  if (out[used - 1] != ' ')
    out[used++] = ' ';
  out[used] = '\0';
  return used;
}

size_t plag_fold_name(const char *text, size_t length, char out[PLAG_FOLDED_BYTES]) {
  size_t used = 0;
  for (size_t at = 0; at < length && used + 3 < PLAG_FOLDED_BYTES;) {
    const char byte = text[at];
    char letters[2];
    const size_t count = fold_letter(text, length, &at, letters);
    for (size_t i = 0; i < count; i++)
      out[used++] = letters[i];
    /* Signs tell names apart ("Pos %" from "Pos V" they need not, but "Pos+" from "Pos-" they do).
     */
    if (count == 0 && byte > ' ' && byte != '_')
      out[used++] = byte;
  }
  out[used] = '\0';
  return used;
}

size_t plag_fold_distance(const char *one, const char *other) {
  size_t row[PLAG_FOLDED_BYTES];
  const size_t width = strnlen(other, PLAG_FOLDED_BYTES - 1);
  for (size_t i = 0; i <= width; i++)
    row[i] = i;
  for (size_t line = 0; one[line] != '\0'; line++) {
    size_t corner = row[0];
    row[0] = line + 1;
    for (size_t i = 0; i < width; i++) {
      const size_t change = corner + (one[line] != other[i]);
      corner = row[i + 1];
      size_t least = corner + 1;
      if (row[i] + 1 < least)
        least = row[i] + 1;
      row[i + 1] = change < least ? change : least;
    }
  }
  return row[width];
}
