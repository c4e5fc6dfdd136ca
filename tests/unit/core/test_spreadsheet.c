/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * No cell begins a formula, however it is opened (CWE-1236), and what RFC 4180 reads from a cell is
 * the text that was put in. */
#include "support/check.h"

#include <string.h>

#include "core/spreadsheet.h"

static const struct cell {
  const char *text, *written;
} CELLS[] = {
    {"", ""},
    {"bus 12", "bus 12"},
    {"stick band, %", "\"stick band, %\""},
    {"said \"no\"", "\"said \"\"no\"\"\""},
    {"a;b", "\"a;b\""},
    {" blank in front", "\" blank in front\""},
    {"two\nlines", "two lines"},
    {"esc\033[2J", "esc\xef\xbf\xbd[2J"},
    {"Latin-1 D\xfcse", "Latin-1 D\xef\xbf\xbdse"},
    {"3.2 V", "3.2 V"},
    /* CWE-1236: what begins a formula */
    {"=HYPERLINK(\"x\")", "\"'=HYPERLINK(\"\"x\"\")\""},
    {"+1", "'+1"},
    {"-1", "'-1"},
    {"@SUM(A1)", "'@SUM(A1)"},
    {"\tx", "\"' x\""},
    {"\rx", "\"' x\""},
    {"\n=1", "\"' =1\""},
    {"  =1", "\"'  =1\""},
    {" \t-2", "\"'  -2\""},
    {"a;=1+1;b", "\"a;'=1+1;b\""},
    {"a; -3", "\"a;' -3\""},
    {"\uff1d1", "'\uff1d1"}, /* of full width */
    {"\uff0d1", "'\uff0d1"},
    {"\uff1c1", "\uff1c1"},
    {"a=1", "a=1"},
    {"a,=1", "\"a,=1\""},
};

static void cells_are_quoted_and_harmless(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof CELLS / sizeof *CELLS; i++) {
    plag_text out = {0};
    plag_text_add(&out, "");
    plag_cell_add_text(&out, CELLS[i].text);
    assert_string_equal(out.bytes, CELLS[i].written);
    plag_text_clear(&out);
  }
}

/* Every two characters behind each other that could part cells, open quotes or begin a formula: in
 * no reading, by commas or by semicolons, does a cell begin with a formula's character. */
static void no_pair_begins_a_formula(void **state) {
  (void)state;
  static const char tried[] = "=+-@\t\r\n ;\"'a,";
  for (const char *a = tried; *a != '\0'; a++)
    for (const char *b = tried; *b != '\0'; b++)
      for (const char *c = tried; *c != '\0'; c++) {
        const char text[] = {*a, *b, *c, '1', '\0'};
        plag_text out = {0};
        plag_cell_add_text(&out, text);
        const char *first = out.bytes[0] == '"' ? out.bytes + 1 : out.bytes;
        const char *behind = strchr(out.bytes, ';');
        if (strchr("=+-@", first[strspn(first, " ")]) != NULL ||
            (behind != NULL && strchr("=+-@", behind[1 + strspn(behind + 1, " ")]) != NULL))
          fail_msg("\"%s\" is written as %s", text, out.bytes);
        plag_text_clear(&out);
      }
}

static void rows_end_as_the_rfc_wants(void **state) {
  (void)state;
  plag_text out = {0};
  plag_cell_add_text(&out, "a");
  plag_cell_next(&out);
  plag_cell_add_text(&out, "b,c");
  plag_cell_end_row(&out);
  assert_string_equal(out.bytes, "a,\"b,c\"\r\n");
  plag_text_clear(&out);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cells_are_quoted_and_harmless),
      cmocka_unit_test(no_pair_begins_a_formula),
      cmocka_unit_test(rows_end_as_the_rfc_wants),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
