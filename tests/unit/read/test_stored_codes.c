/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Trouble codes are read from a column that holds them, each once, in the order in which they come;
 * numbers that look like them are none. Codes by ISO 15031-6: a letter of the system, a digit 0 to
 * 3, three hexadecimal digits. */
#include "support/check.h"

#include <stdio.h>
#include <string.h>

#include "support/memory_source.h"

#define FILE_OF(name, one, two, three)                                                             \
  "Time (s),Runner duty (%),Runner position (V)," name "\n0.0,12.5,1.25," one                      \
  "\n0.1,62.5,1.27," two "\n0.2,62.5,2.385," three "\n"

static const struct code_case {
  const char *what, *file, *expected;
} cases[] = {
    {"one code, again and again", FILE_OF("Stored codes", "P2017", "P2017", "P2017"), "P2017"},
    {"none at first", FILE_OF("DTC", "", "none", "P2015"), "P2015"},
    {"several in a cell", FILE_OF("DTCs", "P2004 P2017;B1A3F", "P2017", ""), "P2004,P2017,B1A3F"},
    {"with what failed and how", FILE_OF("Trouble code", "P2016-12", "U0100:87", ""),
     "P2016,U0100"},
    {"in words", FILE_OF("Fehlercode", "gespeichert: P200A (aktiv)", "", ""), "P200A"},
    {"too long, too short, no such digit", FILE_OF("DTC", "P20171", "P201", "P4017"), ""},
    {"part of a part number", FILE_OF("DTC", "77P2017", "XP2017", "p2017"), ""},
    {"another column", FILE_OF("Note", "P2017", "P2017", "P2017"), ""},
    {"how many there are", FILE_OF("Number of stored codes", "1", "1", "1"), ""},
    {"long form",
     "Time,Name,Value\n0.0,Runner duty (%),12.5\n0.0,Runner position (V),1.25\n"
     "0.1,Runner duty (%),62.5\n0.1,Runner position (V),1.27\n0.2,Stored codes,P2017\n"
     "0.2,Runner duty (%),62.5\n0.2,Runner position (V),2.385\n",
     "P2017"},
};

static void codes_are_read(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    platelag_capture *capture = NULL;
    platelag_error error = {0};
    if (plag_test_read_bytes(cases[i].file, 0, NULL, &capture, &error) != PLATELAG_OK)
      fail_msg("%s: refused at %lld: %s", cases[i].what, (long long)error.line, error.message);
    const char *found = platelag_capture_reading(capture)->stored_codes;
    if (strcmp(found, cases[i].expected) != 0)
      fail_msg("%s: \"%s\", expected \"%s\"", cases[i].what, found, cases[i].expected);
    platelag_capture_destroy(capture);
  }
}

/* As many as a line of a report holds; the rest is left out, and nothing is cut in two. */
static void a_great_many_are_not_cut_in_two(void **state) {
  (void)state;
  static char file[8192];
  size_t at =
      (size_t)snprintf(file, sizeof file, "Time (s),Runner duty (%%),Runner position (V),DTC\n");
  for (int i = 0; i < 200; i++)
    at += (size_t)snprintf(file + at, sizeof file - at, "%d.%d,%d,1.%d,P2%03d\n", i / 10, i % 10,
                           i % 3 * 20, i, i);
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  assert_int_equal(plag_test_read_bytes(file, 0, NULL, &capture, &error), PLATELAG_OK);
  const char *found = platelag_capture_reading(capture)->stored_codes;
  assert_true(strncmp(found, "P2000,P2001,P2002", 17) == 0);
  assert_int_equal(strlen(found) % 6, 5);
  platelag_capture_destroy(capture);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(codes_are_read),
      cmocka_unit_test(a_great_many_are_not_cut_in_two),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
