/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sentence on a sheet is made harmless and wrapped under itself, and one that had no memory fails
 * the whole text; colour is said where there is some, and nowhere else. */
#include "support/check.h"

#include "core/sheet.h"

static void sentences_are_harmless_and_wrapped(void **state) {
  (void)state;
  static const struct {
    size_t width, indent, hang;
    const char *sentence, *expected;
  } rows[] = {
      {24, 3, 5, "the plates hold still at 31.7 %", "   the plates hold still\n     at 31.7 %\n"},
      {24, 0, 0, "a name\033[2J", "a name\xef\xbf\xbd[2J\n"},
      {24, 2, 2, "", "  \n"}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    plag_sheet sheet = {.width = rows[i].width};
    plag_sheet_say(&sheet, rows[i].indent, rows[i].hang, rows[i].sentence);
    assert_false(sheet.out.failed);
    assert_string_equal(sheet.out.bytes, rows[i].expected);
    plag_sheet_clear(&sheet);
  }
}

static void a_sentence_that_had_no_memory_fails_the_text(void **state) {
  (void)state;
  plag_sheet sheet = {.width = 40};
  plag_sheet_say(&sheet, 2, 2, NULL);
  plag_sheet_say(&sheet, 2, 2, "and one that had");
  assert_true(sheet.out.failed);
  plag_sheet_clear(&sheet);
}

static void emphasis_needs_colour(void **state) {
  (void)state;
  for (int color = 0; color <= 1; color++) {
    plag_sheet sheet = {.width = 40, .color = color == 1};
    plag_sheet_emphasise(&sheet, "\033[1m", "bus\t7\033");
    assert_string_equal(sheet.out.bytes,
                        color == 1 ? "\033[1mbus 7\xef\xbf\xbd\033[0m" : "bus 7\xef\xbf\xbd");
    plag_sheet_clear(&sheet);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(sentences_are_harmless_and_wrapped),
                                     cmocka_unit_test(a_sentence_that_had_no_memory_fails_the_text),
                                     cmocka_unit_test(emphasis_needs_colour)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
