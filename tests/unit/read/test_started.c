/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a capture was begun is told where its clock or one plain date before the header says so, and
 * never guessed. */
#include "support/check.h"

#include <string.h>

#include "core/calendar.h"
#include "core/text.h"
#include "support/memory_source.h"

#define HEAD ",Runner duty (%),Runner position (V)\n"
/* A file with a plain clock below these lines. */
#define BELOW(lines) lines "Time (s)" HEAD "0.0,12.5,1.25\n0.1,62.5,1.27\n0.2,62.5,2.385\n"
/* A file whose clock shows these stamps. */
#define CLOCK(one, two, three)                                                                     \
  "Time" HEAD one ",12.5,1.25\n" two ",62.5,1.27\n" three ",62.5,2.385\n"

typedef struct started_case {
  const char *what;
  const char *file;
  const char *expected; /* with Z where a zone is known; NULL: not known */
} started_case;

static const started_case clocks[] = {
    {"ISO with a zone",
     CLOCK("2026-03-14T07:41:12.385+02:00", "2026-03-14T07:41:12.485+02:00",
           "2026-03-14T07:41:12.585+02:00"),
     "2026-03-14T05:41:12Z"},
    {"ISO with a zone, over midnight",
     CLOCK("2026-03-01T00:41:12-05:30", "2026-03-01T00:41:13-05:30", "2026-03-01T00:41:14-05:30"),
     "2026-03-01T06:11:12Z"},
    {"ISO without a zone",
     CLOCK("2026-03-14 07:41:12.985", "2026-03-14 07:41:13.085", "2026-03-14 07:41:13.185"),
     "2026-03-14T07:41:12"},
    {"epoch seconds", CLOCK("1773474072.457", "1773474072.557", "1773474072.657"),
     "2026-03-14T07:41:12Z"},
    {"epoch milliseconds", CLOCK("1773474072457", "1773474072557", "1773474072657"),
     "2026-03-14T07:41:12Z"},
    {"dd.mm.yyyy", CLOCK("03.04.2026 07:41:12.1", "03.04.2026 07:41:12.2", "03.04.2026 07:41:12.3"),
     "2026-04-03T07:41:12"},
    {"month first, as the 14th shows",
     CLOCK("03/14/2026 07:41:12", "03/14/2026 07:41:13", "03/14/2026 07:41:14"),
     "2026-03-14T07:41:12"},
    {"day or month first: cannot be told",
     CLOCK("03/04/2026 07:41:12", "03/04/2026 07:41:13", "03/04/2026 07:41:14"), NULL},
    {"day or month first: the same",
     CLOCK("03/03/2026 07:41:12", "03/03/2026 07:41:13", "03/03/2026 07:41:14"),
     "2026-03-03T07:41:12"},
    {"day or month first: the ISO date above holds",
     "Recorded: 2026-03-04\n" CLOCK("03/04/2026 07:41:12", "03/04/2026 07:41:13",
                                    "03/04/2026 07:41:14"),
     "2026-03-04T00:00:00"},
    {"date and time in two columns",
     "Date,Time" HEAD "2026-03-14,07:41:12.1,12.5,1.25\n2026-03-14,07:41:12.2,62.5,1.27\n"
     "2026-03-14,07:41:12.3,62.5,2.385\n",
     "2026-03-14T07:41:12"},
    {"leap day", CLOCK("29.02.2024 23:59:59.8", "29.02.2024 23:59:59.9", "01.03.2024 00:00:00.0"),
     "2024-02-29T23:59:59"},
    {"year 1999", CLOCK("1999-12-31 23:59:58", "1999-12-31 23:59:59", "2000-01-01 00:00:00"),
     "1999-12-31T23:59:58"},
    {"epoch seconds of 1999", CLOCK("928134552.1", "928134552.2", "928134552.3"),
     "1999-05-31T07:09:12Z"},
    {"a recorder whose clock was never set",
     CLOCK("1970-01-01 00:00:05", "1970-01-01 00:00:06", "1970-01-01 00:00:07"), NULL},
    {"time of day alone", CLOCK("07:41:12.1", "07:41:12.2", "07:41:12.3"), NULL},
    {"seconds", BELOW(""), NULL},
    {"the clock goes before the lines above",
     "Recorded: 2025-11-02\n" CLOCK("2026-03-14 07:41:12", "2026-03-14 07:41:13",
                                    "2026-03-14 07:41:14"),
     "2026-03-14T07:41:12"},
    {"the first stamp is broken",
     CLOCK(",4.9,1.24\n2026-03-14 07:41:12", "2026-03-14 07:41:13", "2026-03-14 07:41:14"),
     "2026-03-14T07:41:12"},
    {"a clock per channel, the second earlier",
     "Time,Runner duty (%),Time,Runner position (V)\n"
     "2026-03-14 07:41:12.20,12.5,2026-03-14 07:41:11.90,1.25\n"
     "2026-03-14 07:41:12.70,62.5,2026-03-14 07:41:12.40,1.27\n"
     "2026-03-14 07:41:13.20,62.5,2026-03-14 07:41:12.90,2.385\n",
     "2026-03-14T07:41:11"},
    {"long form",
     "Time,Channel,Value,Unit\n"
     "2026-03-14T07:41:12.10,Runner duty,12.5,%\n2026-03-14T07:41:12.15,Runner position,1.25,V\n"
     "2026-03-14T07:41:12.20,Runner duty,62.5,%\n2026-03-14T07:41:12.25,Runner position,1.27,V\n"
     "2026-03-14T07:41:12.30,Runner duty,62.5,%\n2026-03-14T07:41:12.35,Runner position,2.385,V\n",
     "2026-03-14T07:41:12"},
    {"two recordings: the first",
     "Vehicle," CLOCK("A,2026-03-14 07:41:12,12.5,1.25\nA,2026-03-14 07:41:13",
                      "B,2026-03-09 17:03:55", "B,2026-03-09 17:03:56"),
     "2026-03-14T07:41:12"},
};

static const started_case preambles[] = {
    {"date and time", BELOW("Recorded: 2026-03-14 07:41:12\n"), "2026-03-14T07:41:12"},
    {"date", BELOW("Recorded: 2026-03-14\n"), "2026-03-14T00:00:00"},
    {"time of day and a date above",
     "Recorded: 2026-03-14\n" CLOCK("07:41:12.1", "07:41:12.2", "07:41:12.3"),
     "2026-03-14T00:00:00"},
    {"a zone", BELOW("Start = 2026-03-14T01:41:12.385+02:00\n"), "2026-03-13T23:41:12Z"},
    {"Z", BELOW("# 2026-03-14T07:41:12Z road test\n"), "2026-03-14T07:41:12Z"},
    {"hours and minutes", BELOW("Road test (2026-03-14 07:41).\n"), "2026-03-14T07:41:00"},
    {"in cells", BELOW("Vehicle,Shuttle 06\nRecorded,2026-03-14,07:41:12\n"),
     "2026-03-14T07:41:12"},
    {"leap day", BELOW("Recorded: 2024-02-29 06:05:04\n"), "2024-02-29T06:05:04"},
    {"no leap day", BELOW("Recorded: 2023-02-29 06:05:04\n"), NULL},
    {"no month", BELOW("Recorded: 2026-13-04\n"), NULL},
    {"no time of day", BELOW("Recorded: 2026-03-14 1439:30\n"), "2026-03-14T00:00:00"},
    {"year 1999", BELOW("Recorded: 1999-12-31\n"), "1999-12-31T00:00:00"},
    {"never set", BELOW("Recorded: 1970-01-01 00:04:11\n"), NULL},
    {"two dates", BELOW("Recorded: 2026-03-14\nNext visit: 2026-09-14\n"), NULL},
    {"one date twice, once with a time", BELOW("Date: 2026-03-14\nBegin: 2026-03-14 07:41:12\n"),
     "2026-03-14T07:41:12"},
    {"one date with two times", BELOW("Begin: 2026-03-14 07:41:12\nEnd: 2026-03-14 07:55:03\n"),
     "2026-03-14T00:00:00"},
    {"one date with two times in a line", BELOW("2026-03-14 07:41:12 - 2026-03-14 07:55:03\n"),
     "2026-03-14T00:00:00"},
    {"day or month first", BELOW("Recorded: 03/04/2026 07:41:12\n"), NULL},
    {"not ISO, though plain", BELOW("Recorded: 14.03.2026 07:41:12\n"), NULL},
    {"a part number", BELOW("Part: 77-2026-03-14\nJob: 2026-03-141\nLot: A2026-03-14\n"), NULL},
    {"of the firmware", BELOW("Firmware 4.2, 2024-05-06\n"), NULL},
    {"of the firmware, and of the recording",
     BELOW("Firmware: 4.2 (2024-05-06)\nRecorded: 2026-03-14 07:41:12\n"), "2026-03-14T07:41:12"},
    {"below the header", BELOW("") "0.3,62.5,2.4\n\nExtract of 2026-03-14\n", NULL},
};

static void check_case(const started_case *row, const char *table) {
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  if (plag_test_read_bytes(row->file, 0, NULL, &capture, &error) != PLATELAG_OK)
    fail_msg("%s, %s: refused at %lld: %s", table, row->what, (long long)error.line, error.message);
  const platelag_reading *reading = platelag_capture_reading(capture);
  char text[PLAG_CALENDAR_BYTES + 1] = "unknown";
  if (reading->started_known) {
    plag_calendar_format(reading->started_unix_s, 'T', text);
    strcat(text, reading->started_zoned ? "Z" : "");
  } else if (reading->started_unix_s != 0 || reading->started_zoned) {
    fail_msg("%s, %s: not known, but a time is told", table, row->what);
  }
  const char *expected = row->expected != NULL ? row->expected : "unknown";
  if (strcmp(text, expected) != 0)
    fail_msg("%s, %s: %s, expected %s (clock: %s)", table, row->what, text, expected,
             reading->clock);
  platelag_capture_destroy(capture);
}

static void a_clock_with_dates_says_it(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof clocks / sizeof clocks[0]; i++)
    check_case(&clocks[i], "clock");
}

static void one_plain_date_before_the_header_says_it(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof preambles / sizeof preambles[0]; i++)
    check_case(&preambles[i], "preamble");
}

/* The month stands first, as only a row beyond the sample of the layout shows: midnight before the
 * 13th. */
static void a_late_row_tells_the_order(void **state) {
  (void)state;
  plag_text file = {0};
  plag_text_add(&file, "Time" HEAD);
  for (int row = 0; row < 1200; row++)
    plag_text_add_format(&file, "03/%d/2026 %02d:%02d:%02d,12.5,1.%03d\n", row < 900 ? 12 : 13,
                         row < 900 ? 23 : 0, row < 900 ? 45 + row / 60 : (row - 900) / 60, row % 60,
                         row);
  const started_case late = {"late order", file.bytes, "2026-03-12T23:45:00"};
  check_case(&late, "clock");
  plag_text_clear(&file);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_clock_with_dates_says_it),
                                     cmocka_unit_test(one_plain_date_before_the_header_says_it),
                                     cmocka_unit_test(a_late_row_tells_the_order)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
