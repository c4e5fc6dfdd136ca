/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The one place where numbers are read and written. The process's locale plays no part. */
#ifndef PLAG_CORE_NUMBER_H
#define PLAG_CORE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

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
