/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/number.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "platelag/status.h"

/* Up to here a double holds every whole number, and every power of ten up to 22 exactly: their
 * product or quotient is then rounded once, which is the nearest double (Clinger, "How to read
 * floating point numbers accurately", PLDI 1990). */
#define LARGEST_EXACT_MANTISSA (UINT64_C(1) << 53)
enum { LARGEST_EXACT_POWER = 22, FALLBACK_BYTES = 800 };

const double plag_power_of_ten[LARGEST_EXACT_POWER + 1] = {
    1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

typedef struct decimal_number {
  uint64_t mantissa; /* where digits beyond it were left out, above LARGEST_EXACT_MANTISSA */
  int exponent;      /* of ten */
} decimal_number;

static bool is_digit(char character) {
  return character >= '0' && character <= '9';
}

/* Takes digits from `text` at `at`; those after the point lower the exponent. */
static inline size_t take_digits(const char *text, size_t length, size_t at, bool after_point,
                                 decimal_number *number) {
  uint64_t mantissa = number->mantissa;
  const size_t from = at;
  for (; at < length && is_digit(text[at]) && mantissa < UINT64_C(100000000000000000); at++)
    mantissa = mantissa * 10 + (uint64_t)(text[at] - '0');
  number->mantissa = mantissa;
  number->exponent -= after_point ? (int)(at - from) : 0;
  for (; at < length && is_digit(text[at]); at++) /* beyond what a mantissa holds */
    number->exponent += !after_point;
  return at;
}

/* Takes "e-12" at `at`; leaves `at` where there is none, or none whole. */
static size_t take_exponent(const char *text, size_t length, size_t at, decimal_number *number) {
  if (at >= length || (text[at] != 'e' && text[at] != 'E'))
    return at;
  size_t next = at + 1;
  const bool negative = next < length && text[next] == '-';
  if (next < length && (text[next] == '-' || text[next] == '+'))
    next++;
  if (next >= length || !is_digit(text[next]))
    return at;
  int exponent = 0;
  for (; next < length && is_digit(text[next]); next++)
    if (exponent < 100000)
      exponent = exponent * 10 + (text[next] - '0');
  number->exponent += negative ? -exponent : exponent;
  return next;
}

/* strtod in the C locale over a copy with a decimal point; only for numbers too long or too large
 * for the exact way. */
static double read_slowly(const char *text, size_t length, char decimal) {
  char copy[FALLBACK_BYTES];
  char *bytes = length < sizeof copy ? copy : malloc(length + 1);
  if (bytes == NULL)
    return NAN;
  memcpy(bytes, text, length);
  bytes[length] = '\0';
  char *point = decimal == '.' ? NULL : memchr(bytes, decimal, length);
  if (point != NULL)
    *point = '.';
  locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  const double value = plain == (locale_t)0 ? NAN : strtod_l(bytes, NULL, plain);
  if (plain != (locale_t)0)
    freelocale(plain);
  if (bytes != copy)
    free(bytes);
  return value;
}

size_t plag_number_read(const char *text, size_t length, char decimal, double *value) {
  if (plag_number_read_short(text, length, decimal, value))
    return length;
  size_t at = 0;
  const bool negative = length > 0 && text[0] == '-';
  if (length > 0 && (text[0] == '-' || text[0] == '+'))
    at = 1;
  decimal_number number = {0, 0};
  const size_t whole = at;
  at = take_digits(text, length, at, false, &number);
  size_t digits = at - whole;
  if (at < length && text[at] == decimal) {
    const size_t fraction = at + 1;
    at = take_digits(text, length, fraction, true, &number);
    digits += at - fraction;
  }
  if (digits == 0)
    return 0;
  at = take_exponent(text, length, at, &number);
  const bool exact = number.mantissa <= LARGEST_EXACT_MANTISSA &&
                     number.exponent >= -LARGEST_EXACT_POWER &&
                     number.exponent <= LARGEST_EXACT_POWER;
  if (!exact) {
    *value = read_slowly(text, at, decimal);
    return at;
  }
  const double mantissa = (double)number.mantissa;
  const double size = number.exponent < 0 ? mantissa / plag_power_of_ten[-number.exponent]
                                          : mantissa * plag_power_of_ten[number.exponent];
  *value = negative ? -size : size;
  return at;
}

bool plag_number_read_all(const char *text, double *value) {
  while (*text == ' ' || *text == '\t')
    text++;
  size_t length = strlen(text);
  while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
    length--;
  double read = 0;
  if (length == 0 || plag_number_read(text, length, '.', &read) != length)
    return false;
  *value = read;
  return true;
}

/* printf follows the locale: whatever stands for the point of a finite number, of one byte or more,
 * becomes '.'. */
static void force_point(char *text) {
  char *from = text + (*text == '-');
  while (is_digit(*from))
    from++;
  if (*from == '\0' || *from == 'e')
    return;
  char *to = from;
  *to++ = '.';
  while (*from != '\0' && !is_digit(*from))
    from++;
  memmove(to, from, strlen(from) + 1);
}

/* "-0.00" says nothing that "0.00" does not. */
static void drop_minus_of_zero(char *text) {
  if (text[0] == '-' && strpbrk(text, "123456789") == NULL)
    memmove(text, text + 1, strlen(text));
}

/* What printf would write, without it: a whole number of the last place, which is the nearest
 * unless `value` is near a tie, and so large at most that its product's rounding is far less than
 * that is off. Sets no text and returns false for what is none of these. */
static bool format_quickly(double value, int decimals, char *text) {
  enum { MOST_DIGITS = 24 };
  static const double largest = 1e12;
  static const double nearly_tied = 1e-3;
  if (decimals < 0 || decimals > 9)
    return false;
  const double size = fabs(value) * plag_power_of_ten[decimals];
  const double whole = floor(size);
  if (size >= largest || fabs(size - whole - 0.5) < nearly_tied)
    return false;
  uint64_t left = (uint64_t)whole + (size - whole > 0.5);
  char digits[MOST_DIGITS];
  char *at = digits + MOST_DIGITS;
  const bool minus = value < 0 && left > 0;
  *--at = '\0';
  for (int place = 0; place <= decimals || left > 0; place++, left /= 10) {
    if (place == decimals && decimals > 0)
      *--at = '.';
    *--at = (char)('0' + left % 10);
  }
  if (minus)
    *--at = '-';
  memcpy(text, at, (size_t)(digits + MOST_DIGITS - at));
  return true;
}

const char *plag_number_format(double value, int decimals, char *text) {
  if (isnan(value))
    return strcpy(text, "-");
  if (isinf(value))
    return strcpy(text, value > 0 ? "inf" : "-inf");
  if (format_quickly(value, decimals, text))
    return text;
  (void)snprintf(text, PLAG_NUMBER_TEXT_BYTES, "%.*f", decimals, value);
  force_point(text);
  drop_minus_of_zero(text);
  return text;
}

const char *plag_number_format_json(double value, int digits, char *text) {
  if (!isfinite(value))
    return strcpy(text, "null");
  (void)snprintf(text, PLAG_NUMBER_TEXT_BYTES, "%.*g", digits, value);
  force_point(text);
  if (strchr(text, 'e') == NULL)
    drop_minus_of_zero(text);
  return text;
}

bool platelag_number_read(const char *text, double *value) {
  return plag_number_read_all(text, value);
}
