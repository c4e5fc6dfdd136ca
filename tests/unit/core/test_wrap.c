/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text is broken at blanks, a word that is too long within itself, never inside a character, and
 * nothing of it is lost. */
#include "support/check.h"

#include <string.h>

#include "core/escape.h"
#include "core/wrap.h"

static const struct {
  const char *text;
  size_t width, column, hang;
  const char *expected;
} rows[] = {
    {"the plates hold still", 40, 0, 0, "the plates hold still\n"},
    {"the plates hold still", 21, 0, 0, "the plates hold still\n"},
    {"the plates hold still", 20, 0, 0, "the plates hold\nstill\n"},
    {"the plates hold still", 20, 7, 3, "the plates\n   hold still\n"},
    {"closing after 0.21 s at most", 18, 0, 0, "closing after\n0.21 s at most\n"},
    {"closing after 0.21 s at most", 19, 0, 0, "closing after\n0.21 s at most\n"},
    {"closing after 0.21 s at most", 20, 0, 0, "closing after 0.21 s\nat most\n"},
    {"12 345 6789 0", 10, 0, 0, "12 345\n6789 0\n"},
    {"  two   blanks ", 20, 0, 0, "two   blanks\n"},
    {"", 20, 0, 0, "\n"},
    {"Drosselklappenstellung", 12, 0, 0, "Drosselklapp\nenstellung\n"},
    {"\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3"
     "\xbc",
     11, 0, 0,
     "\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\xc3\xbc\n"
     "\xc3\xbc\n"},
    /* Where next to nothing is left, ten characters are taken all the same. */
    {"the plates hold", 12, 11, 5, "the plates\n     hold\n"},
};

static void text_is_broken_at_blanks(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    plag_text out = {0};
    plag_wrap_add(&out, rows[i].text, rows[i].width, rows[i].column, rows[i].hang);
    assert_string_equal(out.bytes, rows[i].expected);
    plag_text_clear(&out);
  }
}

static void no_line_is_too_wide_and_no_word_is_lost(void **state) {
  (void)state;
  const char *text = "a wire is likelier from 96 %, pl\xc3\xa4ttchen past their open stop are not "
                     "excluded; measure signal, reference and ground at the connector";
  for (size_t width = 1; width < 90; width++) {
    const char *rest = text, *line = NULL;
    size_t length = 0, letters = 0, expected = 0;
    while (plag_wrap_next(&rest, width, &line, &length)) {
      assert_in_range(plag_utf8_width(line, length), 1, width);
      for (size_t k = 0; k < length; k++)
        letters += line[k] != ' ';
    }
    for (const char *at = text; *at != '\0'; at++)
      expected += *at != ' ';
    assert_int_equal(letters, expected);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(text_is_broken_at_blanks),
                                     cmocka_unit_test(no_line_is_too_wide_and_no_word_is_lost)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
