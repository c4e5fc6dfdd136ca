/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/clock_text.h"

#include <string.h>
#include <strings.h>

#include "core/calendar.h"

#define SECOND_NS INT64_C(1000000000)

typedef struct reader {
  const char *text;
  size_t length;
  size_t at;
} reader;

static char peek(const reader *from) {
  return from->at < from->length ? from->text[from->at] : '\0';
}

static char peek_after(const reader *from, size_t ahead) {
  return from->at + ahead < from->length ? from->text[from->at + ahead] : '\0';
}

static bool is_digit(char character) {
  return character >= '0' && character <= '9';
}

static void skip_blanks(reader *from) {
  while (peek(from) == ' ' || peek(from) == '\t')
    from->at++;
}

/* Takes at most nine digits; how many there were, 0 for none or too many. */
static int take_whole(reader *from, int *value) {
  int digits = 0;
  *value = 0;
  while (is_digit(peek(from)) && digits <= 9) {
    if (digits < 9)
      *value = *value * 10 + (from->text[from->at] - '0');
    from->at++;
    digits++;
  }
  return digits > 9 ? 0 : digits;
}

/* Takes a fraction's digits as billionths; what is finer is cut. */
static int64_t take_fraction(reader *from, int *decimals) {
  static const int64_t units[] = {1000000000, 100000000, 10000000, 1000000, 100000,
                                  10000,      1000,      100,      10,      1};
  enum { MOST = 9 };
  const char *at = from->text + from->at;
  const char *const end = from->text + from->length;
  const char *const start = at;
  int64_t value = 0;
  for (; at < end && is_digit(*at); at++)
    if (at - start < MOST)
      value = value * 10 + (*at - '0');
  const int digits = (int)(at - start);
  from->at += (size_t)digits;
  *decimals += digits;
  return value * units[digits < MOST ? digits : MOST];
}

/* "2021-03-04", "4.3.2021", "03/04/21", "20210304" is none. */
static bool take_date(reader *from, plag_stamp *out) {
  reader at = *from;
  int width[3];
  char mark = 0;
  for (int i = 0; i < 3; i++) {
    width[i] = take_whole(&at, &out->part[i]);
    if (width[i] == 0 || width[i] > 4)
      return false;
    if (i == 2)
      break;
    const char next = peek(&at);
    if ((next != '-' && next != '/' && next != '.') || (i == 1 && next != mark))
      return false;
    mark = next;
    at.at++;
  }
  out->year_first = width[0] == 4;
  if (out->year_first ? width[1] > 2 || width[2] > 2
                      : width[0] > 2 || width[1] > 2 || width[2] == 1 || width[2] == 3)
    return false;
  if (!out->year_first && width[2] == 2)
    out->part[2] += out->part[2] < 70 ? 2000 : 1900;
  out->dotted = mark == '.';
  out->has_date = true;
  *from = at;
  return true;
}

/* "AM", "p.m." behind a time; -1 for none, else the hours to add to 12 a.m. */
static int take_half(reader *from) {
  skip_blanks(from);
  const char first = (char)(peek(from) | 32);
  if (first != 'a' && first != 'p')
    return -1;
  size_t ahead = peek_after(from, 1) == '.' ? 2 : 1;
  if ((peek_after(from, ahead) | 32) != 'm')
    return -1;
  from->at += ahead + 1;
  if (peek(from) == '.')
    from->at++;
  return first == 'p' ? 12 : 0;
}

/* "Z", "+01:00", "+0100", "UTC". */
static bool take_zone(reader *from, plag_stamp *out) {
  reader at = *from;
  skip_blanks(&at);
  if (peek(&at) == 'Z' || peek(&at) == 'z') {
    at.at++;
  } else if (at.length - at.at >= 3 && (strncasecmp(at.text + at.at, "UTC", 3) == 0 ||
                                        strncasecmp(at.text + at.at, "GMT", 3) == 0)) {
    at.at += 3;
  } else if (peek(&at) == '+' || peek(&at) == '-') {
    const int64_t sign = peek(&at) == '-' ? -1 : 1;
    at.at++;
    int hours = 0, minutes = 0;
    const int digits = take_whole(&at, &hours);
    if (digits == 4) {
      minutes = hours % 100;
      hours /= 100;
    } else if (digits != 2) {
      return false;
    } else if (peek(&at) == ':') {
      at.at++;
      if (take_whole(&at, &minutes) != 2)
        return false;
    }
    out->zone_ns = sign * (hours * INT64_C(3600) + minutes * INT64_C(60)) * SECOND_NS;
  } else {
    return false;
  }
  out->has_zone = true;
  *from = at;
  return true;
}

/* "7:39:45.440", "07:39.45.440", "39:45.0", "8:30:00 AM". */
static bool take_time(reader *from, plag_stamp *out) {
  int part[3] = {0, 0, 0};
  int width = take_whole(from, &part[0]);
  if (width == 0 || width > 6 || peek(from) != ':')
    return false;
  from->at++;
  width = take_whole(from, &part[1]);
  if (width == 0 || width > 2 || part[1] > 59)
    return false;
  out->fields = 2;
  reader ahead = *from;
  if (peek(from) == ':' || peek(from) == '.') {
    const bool pointed = peek(from) == '.';
    ahead.at++;
    width = take_whole(&ahead, &part[2]);
    const bool two = (width == 1 || width == 2) && part[2] <= 59;
    if (two && (!pointed || peek(&ahead) == '.' || peek(&ahead) == ',')) {
      out->fields = 3;
      *from = ahead;
    } else if (!pointed) {
      return false;
    }
  }
  int64_t fraction = 0;
  const char mark = peek(from);
  if ((mark == '.' || mark == ',' || (mark == ':' && out->fields == 3)) &&
      is_digit(peek_after(from, 1))) {
    from->at++;
    fraction = take_fraction(from, &out->decimals);
  }
  if (out->fields == 3) {
    const int half = take_half(from);
    if (half >= 0) {
      if (part[0] < 1 || part[0] > 12)
        return false;
      part[0] = part[0] % 12 + half;
      out->twelve_hours = true;
    }
    out->day_ns =
        (part[0] * INT64_C(3600) + part[1] * INT64_C(60) + part[2]) * SECOND_NS + fraction;
  } else {
    out->day_ns = (part[0] * INT64_C(60) + part[1]) * SECOND_NS + fraction;
  }
  out->has_time = true;
  return true;
}

bool plag_stamp_read(const char *text, size_t length, plag_stamp *out) {
  *out = (plag_stamp){0};
  reader from = {text, length, 0};
  skip_blanks(&from);
  const bool dated = take_date(&from, out);
  if (dated) {
    if (peek(&from) == 'T' || peek(&from) == '_' || peek(&from) == ',' || peek(&from) == ';') {
      from.at++;
      if (from.at == from.length)
        return false;
    }
    skip_blanks(&from);
  }
  if (from.at < from.length && !take_time(&from, out))
    return false;
  if (out->has_time)
    (void)take_zone(&from, out);
  skip_blanks(&from);
  return from.at == from.length && (out->has_date || out->has_time);
}

bool plag_stamp_day(const plag_stamp *stamp, plag_date_order order, int64_t *day) {
  static const int month_days[12] = {31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  int year = stamp->part[2], month = stamp->part[1], of_month = stamp->part[0];
  if (stamp->year_first) {
    year = stamp->part[0];
    of_month = stamp->part[2];
  } else if (order == PLAG_DATE_MONTH_FIRST) {
    month = stamp->part[0];
    of_month = stamp->part[1];
  }
  if (month < 1 || month > 12 || of_month < 1 || of_month > month_days[month - 1])
    return false;
  *day = plag_calendar_day((plag_date){year, month, of_month});
  return true;
}

bool plag_clock_number_read(const char *text, size_t length, char decimal, int64_t *whole,
                            int64_t *billionths, int *decimals) {
  const char *const end = text + length;
  const bool negative = length > 0 && *text == '-';
  const char *at = text + (negative || (length > 0 && *text == '+'));
  *billionths = 0;
  *decimals = 0;
  int64_t value = 0;
  const char *const start = at;
  for (; at < end && is_digit(*at); at++) {
    if (at - start >= 18)
      return false;
    value = value * 10 + (*at - '0');
  }
  const bool digits = at > start;
  if (at < end && (*at == decimal || *at == '.' || *at == ',')) {
    reader fraction = {at + 1, (size_t)(end - at) - 1, 0};
    *billionths = take_fraction(&fraction, decimals);
    at += 1 + fraction.at;
  }
  *whole = negative ? -value : value;
  if (negative)
    *billionths = -*billionths;
  return (digits || *decimals > 0) && at == end;
}
