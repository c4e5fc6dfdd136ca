/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/started.h"

#include <string.h>

#include "core/calendar.h"
#include "read/names.h"

#define SECOND_NS INT64_C(1000000000)

/* 1995-01-01, as clock_find.c holds of numbers that count from 1970. */
#define EARLIEST_UNIX_S INT64_C(788918400)

enum { DATE_LENGTH = 10, STAMP_LENGTH = 48, CONTEXT_BYTES = 120 };

/* What is dated by these is not the recording. */
static const char *const other_words[] = {
    "=version",  "firmware",  "software", "^calibrat", "^kalibr",  "^calibra", "=build",
    "=built",    "=release",  "^export",  "^print",    "^gedruck", "^imprim",  "^impres",
    "^purchase", "^register", "=born",    "^expir",    "=due",     "^valid",   NULL};

/* The dates of the preamble, taken together. */
typedef struct date_list {
  bool any, several_days;
  int64_t day;
  bool timed, several_times, zoned;
  int64_t time_s; /* since the day began; less the zone */
} date_list;

static bool is_digit(char character) {
  return character >= '0' && character <= '9';
}

static bool looks_like_date(const char *text, size_t length) {
  static const char form[DATE_LENGTH + 1] = "0000-00-00";
  if (length < DATE_LENGTH)
    return false;
  for (size_t i = 0; i < DATE_LENGTH; i++)
    if (form[i] == '-' ? text[i] != '-' : !is_digit(text[i]))
      return false;
  return true;
}

/* Letters outside ASCII stand for marks too. */
static bool is_one_of(char character, const char *marks) {
  return ((unsigned char)character & 0x80) != 0 ||
         (character != '\0' && strchr(marks, character) != NULL);
}

/* Whether a stamp may begin behind `before`: not inside a part number, a path or a span. */
static bool may_begin(const char *line, const char *at) {
  return at == line || is_one_of(at[-1], " \t\"'([<,;|:=#");
}

static bool may_end(const char *at, const char *end) {
  if (at == end || is_one_of(*at, " \t\"')]>,;|"))
    return true;
  const bool last = at + 1 == end || at[1] == ' ';
  return last && (*at == '.' || *at == ':');
}

/* Since the day began; with a date two fields are h:mm. */
static int64_t time_of(const plag_stamp *stamp) {
  return stamp->fields == 2 ? 60 * stamp->day_ns : stamp->day_ns;
}

/* The longest text from `at` on that is a date, or a date and a time; its length, 0 for none. */
static size_t read_longest(const char *at, const char *end, plag_stamp *stamp) {
  const size_t left = (size_t)(end - at);
  for (size_t length = left < STAMP_LENGTH ? left : STAMP_LENGTH; length >= DATE_LENGTH; length--)
    if (may_end(at + length, end) && plag_stamp_read(at, length, stamp) &&
        time_of(stamp) < PLAG_DAY_SECONDS * SECOND_NS)
      return length;
  return 0;
}

/* A stamp gives the 29th of February to all years. */
static bool read_day(const plag_stamp *stamp, int64_t *day) {
  return stamp->year_first && plag_stamp_day(stamp, PLAG_DATE_YEAR_FIRST, day) &&
         plag_calendar_date(*day).day == stamp->part[2];
}

static void add_stamp(date_list *list, const plag_stamp *stamp, int64_t day) {
  list->several_days = list->several_days || (list->any && day != list->day);
  list->any = true;
  list->day = day;
  if (!stamp->has_time)
    return;
  const int64_t time_ns = time_of(stamp) - stamp->zone_ns;
  const int64_t time_s = time_ns / SECOND_NS - (time_ns % SECOND_NS < 0);
  if (list->timed && (time_s != list->time_s || stamp->has_zone != list->zoned))
    list->several_times = true;
  list->timed = true;
  list->time_s = time_s;
  list->zoned = stamp->has_zone;
}

/* Whether the words before a date say that it is none of the recording. */
static bool is_of_other(const char *line, const char *at) {
  char words[CONTEXT_BYTES + 1];
  const size_t before = (size_t)(at - line);
  const size_t length = before < CONTEXT_BYTES ? before : CONTEXT_BYTES;
  memcpy(words, at - length, length);
  words[length] = '\0';
  return plag_name_has_word(words, other_words);
}

static void add_line(date_list *list, const char *line, const char *end) {
  for (const char *at = line; at < end; at++) {
    plag_stamp stamp;
    int64_t day = 0;
    if (!looks_like_date(at, (size_t)(end - at)) || !may_begin(line, at))
      continue;
    const size_t length = read_longest(at, end, &stamp);
    if (length == 0)
      continue;
    if (read_day(&stamp, &day) && !is_of_other(line, at))
      add_stamp(list, &stamp, day);
    at += length - 1;
  }
}

plag_started plag_started_in_preamble(const char *head, size_t length, int64_t lines) {
  date_list list = {0};
  const char *const end = head + length;
  for (const char *line = head; line < end && lines > 0; lines--) {
    const char *next = memchr(line, '\n', (size_t)(end - line));
    const char *const line_end = next == NULL ? end : next;
    add_line(&list, line, line_end);
    line = next == NULL ? end : next + 1;
  }
  plag_started started = {.unix_s = list.day * PLAG_DAY_SECONDS};
  if (list.timed && !list.several_times) {
    started.zoned = list.zoned;
    started.unix_s += list.time_s;
  }
  started.known = list.any && !list.several_days && started.unix_s >= EARLIEST_UNIX_S;
  return started.known ? started : (plag_started){0};
}

/* The raw time of a row; false where it is none, or would be another with day and month changed. */
static bool read_raw(const plag_clock_form *form, const plag_row *row, int64_t *raw_ns) {
  plag_clock_form once = *form;
  if (plag_clock_read(&once, row, raw_ns) != PLAG_CLOCK_READ)
    return false;
  if (!form->order_guessed)
    return true;
  plag_clock_form other = *form;
  other.order = once.order == PLAG_DATE_MONTH_FIRST ? PLAG_DATE_DAY_FIRST : PLAG_DATE_MONTH_FIRST;
  int64_t other_ns = 0;
  return plag_clock_read(&other, row, &other_ns) == PLAG_CLOCK_READ && other_ns == *raw_ns;
}

plag_started plag_started_by_clock(const plag_collector *c, const plag_sample *sample) {
  const plag_clock_form *form = &c->clock[c->first_clock].form;
  const bool stamped = form->kind == PLAG_CLOCK_STAMP && form->dated;
  const bool counted = form->kind == PLAG_CLOCK_NUMBER && form->since_1970;
  plag_started started = {.zoned = counted || form->zoned};
  if (!stamped && !counted)
    return started;
  /* Read again, because later rows may have told the order of day and month. */
  for (size_t i = 0; i < sample->count && sample->row[i].line <= c->first_line; i++) {
    int64_t raw_ns = 0;
    if (sample->row[i].line != c->first_line || !read_raw(form, &sample->row[i], &raw_ns))
      continue;
    const int64_t begun_ns = raw_ns + c->earliest_ns;
    started.unix_s = begun_ns / SECOND_NS - (begun_ns % SECOND_NS < 0);
    started.known = started.unix_s >= EARLIEST_UNIX_S;
    break;
  }
  return started;
}
