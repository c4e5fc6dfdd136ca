/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stamps are read in every form that recorders write and no other; what a clock does on its way -
 * wraps, steps back, begins anew, pauses, repeats - becomes a time that never falls, with a segment
 * where the recording is broken. */
#include "support/check.h"

#include <string.h>

#include "read/clock.h"
#include "read/clock_text.h"

#define SECOND INT64_C(1000000000)
#define HOUR   (3600 * SECOND)
#define DAY    (24 * HOUR)

typedef struct stamp_case {
  const char *text;
  plag_date_order order;
  bool has_time;
  int64_t day;    /* since 1970-01-01; 0 where there is no date */
  int64_t day_ns; /* of the time */
  int64_t zone_ns;
} stamp_case;

#define AT(h, m, s, ns) ((h)*HOUR + (m)*60 * SECOND + (s)*SECOND + (ns))
#define YEAR            PLAG_DATE_YEAR_FIRST
#define DAYS            PLAG_DATE_DAY_FIRST
#define MONTH           PLAG_DATE_MONTH_FIRST

/* Days since 1970 counted by Python's datetime. */
static const stamp_case stamps[] = {
    {"07:39:45", YEAR, true, 0, AT(7, 39, 45, 0), 0},
    {"7:39:45.440", YEAR, true, 0, AT(7, 39, 45, 440000000), 0},
    {"07:39:45,440", YEAR, true, 0, AT(7, 39, 45, 440000000), 0},
    {"07:39.45.440", YEAR, true, 0, AT(7, 39, 45, 440000000), 0},
    {"07:39:45:440", YEAR, true, 0, AT(7, 39, 45, 440000000), 0},
    {"07:39:45.123456789", YEAR, true, 0, AT(7, 39, 45, 123456789), 0},
    {"27:03:09.5", YEAR, true, 0, AT(27, 3, 9, 500000000), 0},
    {"39:45.0", YEAR, true, 0, AT(0, 39, 45, 0), 0},
    {"8:30:00 AM", YEAR, true, 0, AT(8, 30, 0, 0), 0},
    {"12:30:00 a.m.", YEAR, true, 0, AT(0, 30, 0, 0), 0},
    {"12:30:00 PM", YEAR, true, 0, AT(12, 30, 0, 0), 0},
    {"1:02:03.5pm", YEAR, true, 0, AT(13, 2, 3, 500000000), 0},
    {"2021-03-04T07:39:45.440Z", YEAR, true, 18690, AT(7, 39, 45, 440000000), 0},
    {"2021-03-04 07:39:45+01:00", YEAR, true, 18690, AT(7, 39, 45, 0), HOUR},
    {"2021-03-04T07:39:45-0330", YEAR, true, 18690, AT(7, 39, 45, 0), -3 * HOUR - HOUR / 2},
    {"2021/03/04_07:39:45 UTC", YEAR, true, 18690, AT(7, 39, 45, 0), 0},
    {"4.3.2021 7:39:45,44", DAYS, true, 18690, AT(7, 39, 45, 440000000), 0},
    {"04/03/21, 07:39:45", DAYS, true, 18690, AT(7, 39, 45, 0), 0},
    {"03/04/2021 7:39:45 PM", MONTH, true, 18690, AT(19, 39, 45, 0), 0},
    {"29/02/2024", DAYS, false, 19782, 0, 0},
    {"1969-12-31", YEAR, false, -1, 0, 0},
    {"2000-03-01", YEAR, false, 11017, 0, 0},
};

static const char *const no_stamps[] = {
    "",         "7",         "12.5",       "07:60:00",    "07:39:61",
    "7:3x:45",  "1:2:3:4:5", "13:00 PMx",  "13:00:00 PM", "2021-03",
    "20210304", "1.2.3",     "a:b:c",      "--:--:--",    "07:39:",
    ":39:45",   "1.234.567", "10.0.0.127", "2021-03-04T", "07:39:45 CET?",
};

static void stamps_of_every_form_are_read(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof stamps / sizeof stamps[0]; i++) {
    const stamp_case *row = &stamps[i];
    plag_stamp stamp;
    int64_t day = 0;
    if (!plag_stamp_read(row->text, strlen(row->text), &stamp))
      fail_msg("\"%s\" is no stamp", row->text);
    if (stamp.has_date && !plag_stamp_day(&stamp, row->order, &day))
      fail_msg("\"%s\" is no day", row->text);
    if (stamp.has_time != row->has_time || stamp.day_ns != row->day_ns || day != row->day ||
        stamp.zone_ns != row->zone_ns)
      fail_msg("\"%s\": day %lld, %lld ns, zone %lld", row->text, (long long)day,
               (long long)stamp.day_ns, (long long)stamp.zone_ns);
  }
}

static void what_is_no_stamp_is_none(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof no_stamps / sizeof no_stamps[0]; i++) {
    plag_stamp stamp;
    if (plag_stamp_read(no_stamps[i], strlen(no_stamps[i]), &stamp))
      fail_msg("\"%s\" is taken for a stamp", no_stamps[i]);
  }
}

static void days_that_do_not_exist_are_none(void **state) {
  (void)state;
  static const struct {
    const char *text;
    bool day_first, month_first;
  } table[] = {{"13/04/2021", true, false},  {"04/13/2021", false, true},
               {"04/03/2021", true, true},   {"32/01/2021", false, false},
               {"30/02/2021", false, false}, {"0/4/2021", false, false}};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    plag_stamp stamp;
    int64_t day = 0;
    assert_true(plag_stamp_read(table[i].text, strlen(table[i].text), &stamp));
    if (plag_stamp_day(&stamp, DAYS, &day) != table[i].day_first ||
        plag_stamp_day(&stamp, MONTH, &day) != table[i].month_first)
      fail_msg("%s", table[i].text);
  }
}

enum { MOST_STEPS = 6 };

typedef struct step_case {
  const char *what;
  plag_clock_form form;
  size_t count;
  int64_t raw_ns[MOST_STEPS];
  int64_t time_ns[MOST_STEPS]; /* expected */
  size_t begins;               /* index of the step that begins a segment; 0: none */
  platelag_break why;
  size_t counted; /* offset of the count in plag_clock that is 1; 0: none */
} step_case;

#define TENTH (SECOND / 10)
#define STAMP_FORM                                                                                 \
  { .kind = PLAG_CLOCK_STAMP, .period_ns = TENTH }
#define DATED_FORM                                                                                 \
  { .kind = PLAG_CLOCK_STAMP, .period_ns = TENTH, .dated = true }
#define PLAIN_FORM                                                                                 \
  { .kind = PLAG_CLOCK_NUMBER, .period_ns = TENTH }
#define COUNT(name) offsetof(plag_clock, name)

static const step_case steps[] = {
    {"rises", PLAIN_FORM, 3, {238, TENTH + 238, 2 * TENTH + 238}, {0, TENTH, 2 * TENTH}, 0, 0, 0},
    {"repeats", PLAIN_FORM, 3, {0, TENTH, TENTH}, {0, TENTH, TENTH}, 0, 0, COUNT(repeated)},
    {"back by a little",
     PLAIN_FORM,
     4,
     {0, TENTH, TENTH - 30000000, 2 * TENTH},
     {0, TENTH, TENTH, 2 * TENTH},
     0,
     0,
     COUNT(jitter)},
    {"pauses, not long enough",
     PLAIN_FORM,
     3,
     {0, TENTH, TENTH + 2 * SECOND},
     {0, TENTH, TENTH + 2 * SECOND},
     0,
     0,
     0},
    {"pauses",
     PLAIN_FORM,
     3,
     {0, TENTH, TENTH + 2 * SECOND + 1},
     {0, TENTH, TENTH + 2 * SECOND + 1},
     2,
     PLATELAG_BREAK_GAP,
     COUNT(gap)},
    {"begins anew",
     PLAIN_FORM,
     4,
     {70 * SECOND, 70 * SECOND + TENTH, 0, TENTH},
     {0, TENTH, TENTH + 2 * SECOND, 2 * TENTH + 2 * SECOND},
     2,
     PLATELAG_BREAK_RESTART,
     COUNT(restart)},
    {"midnight",
     STAMP_FORM,
     3,
     {DAY - TENTH, DAY - 1, TENTH},
     {0, TENTH - 1, 2 * TENTH},
     0,
     0,
     COUNT(midnight)},
    {"midnight with a pause",
     STAMP_FORM,
     2,
     {DAY - SECOND, 5 * SECOND},
     {0, 6 * SECOND},
     1,
     PLATELAG_BREAK_GAP,
     COUNT(midnight)},
    {"midnight of a dated clock is a restart",
     DATED_FORM,
     2,
     {DAY - TENTH, TENTH},
     {0, 2 * SECOND},
     1,
     PLATELAG_BREAK_RESTART,
     COUNT(restart)},
    {"noon on a dial of twelve hours",
     STAMP_FORM,
     2,
     {DAY / 2 - TENTH, TENTH},
     {0, 2 * TENTH},
     0,
     0,
     COUNT(midnight)},
    {"the hour, where hours are not shown",
     {.kind = PLAG_CLOCK_STAMP, .period_ns = TENTH, .minutes_seconds = true},
     2,
     {HOUR - TENTH, TENTH},
     {0, 2 * TENTH},
     0,
     0,
     COUNT(midnight)},
    {"summer time ends",
     DATED_FORM,
     3,
     {3 * HOUR - TENTH, 2 * HOUR, 2 * HOUR + TENTH},
     {0, TENTH, 2 * TENTH},
     0,
     0,
     COUNT(set_back)},
    {"summer time ends, but the clock names its zone",
     {.kind = PLAG_CLOCK_STAMP, .period_ns = TENTH, .dated = true, .zoned = true},
     2,
     {3 * HOUR - TENTH, 2 * HOUR},
     {0, 2 * SECOND},
     1,
     PLATELAG_BREAK_RESTART,
     COUNT(restart)},
    {"past the end of all time",
     PLAIN_FORM,
     2,
     {-PLAG_CLOCK_MOST_NS, PLAG_CLOCK_MOST_NS},
     {0, PLAG_CLOCK_MOST_NS},
     1,
     PLATELAG_BREAK_GAP,
     COUNT(gap)},
    {"too far to reckon",
     PLAIN_FORM,
     2,
     {INT64_MIN + 5, INT64_MAX - 5},
     {0, 2 * SECOND},
     1,
     PLATELAG_BREAK_RESTART,
     0},
};

static void a_clock_becomes_a_time_that_never_falls(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
    const step_case *row = &steps[i];
    plag_clock clock = {.form = row->form};
    for (size_t k = 0; k < row->count; k++) {
      platelag_break why = PLATELAG_BREAK_START;
      bool begins = false;
      const int64_t ns =
          plag_clock_step(&clock, row->raw_ns[k], (int64_t)k + 2, false, &why, &begins);
      const bool expected = k == 0 || k == row->begins;
      if (ns != row->time_ns[k] || begins != expected || (begins && k > 0 && why != row->why))
        fail_msg("%s, step %zu: %lld ns, begins %d, why %d", row->what, k, (long long)ns, begins,
                 (int)why);
    }
    if (row->counted != 0) {
      const plag_clock_count *count = (const void *)((const char *)&clock + row->counted);
      if (count->count != 1 || count->line < 3)
        fail_msg("%s: counted %zu at line %lld", row->what, count->count, (long long)count->line);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(stamps_of_every_form_are_read),
      cmocka_unit_test(what_is_no_stamp_is_none),
      cmocka_unit_test(days_that_do_not_exist_are_none),
      cmocka_unit_test(a_clock_becomes_a_time_that_never_falls),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
