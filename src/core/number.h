/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The one place where numbers are read and written. The process's locale plays no part. */
#ifndef PLAG_CORE_NUMBER_H
#define PLAG_CORE_NUMBER_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* 10^0 .. 10^22, which doubles hold exactly. */
extern const double plag_power_of_ten[23];

/* The nearest whole number, as far as a browser counts without leaving any out: +-2^53. What lies
 * beyond is that; no reading that means anything does. `value` is finite. */
static inline long long plag_number_whole(double value) {
  const double most = 9007199254740992.0;
  return llround(value < -most ? -most : value > most ? most : value);
}

/* Most cells: a whole text of at most 15 bytes, a minus or none, digits, a mark, digits. False:
 * something else, which may yet be a number. Mantissa and power are exact in a double, so that
 * their quotient is the nearest double (see number.c). */
static inline bool plag_number_read_short(const char *text, size_t length, char decimal,
                                          double *value) {
  enum { SHORT_BYTES = 15 };
  if (length > SHORT_BYTES || length == 0)
    return false;
  const char *const end = text + length;
  const bool negative = *text == '-';
  const char *at = text + negative;
  uint64_t mantissa = 0;
  const char *const whole = at;
  for (; at < end && (unsigned char)(*at - '0') < 10; at++)
    mantissa = mantissa * 10 + (uint64_t)(*at - '0');
  if (at == whole)
    return false;
  double size = (double)(int64_t)mantissa;
  if (at < end && *at == decimal) {
    const char *const fraction = ++at;
    for (; at < end && (unsigned char)(*at - '0') < 10; at++)
      mantissa = mantissa * 10 + (uint64_t)(*at - '0');
    size = (double)(int64_t)mantissa / plag_power_of_ten[at - fraction];
  }
  *value = negative ? -size : size;
  return at == end;
}

/* Reads a plain decimal number, [+-]digits[.digits][e[+-]digits] with `decimal` as its point, from
 * the front of `text`. Sets `*value` to the nearest double (as strtod would) and returns the number
 * of bytes used, 0 when there is no number. Too large a number gives +-INFINITY. No blanks, no hex,
 * no "nan" or "inf". */
size_t plag_number_read(const char *text, size_t length, char decimal, double *value);

/* Reads a whole string as one number with a decimal point; blanks around it are allowed. */
bool plag_number_read_all(const char *text, double *value);

/* The longest text that plag_number_format writes, terminator included. */
#define PLAG_NUMBER_TEXT_BYTES 400

/* Writes `value` with `decimals` places (0..17) into `text` (PLAG_NUMBER_TEXT_BYTES), never "-0";
 * "-" for NaN, "inf" and "-inf". Returns `text`. */
const char *plag_number_format(double value, int decimals, char *text);

/* Writes the shortest text (at most `digits` significant, 1..17) that JSON allows; "null" for what
 * is not finite. Returns `text`. */
const char *plag_number_format_json(double value, int digits, char *text);

#endif
