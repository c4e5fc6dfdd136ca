/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whatever a name holds, what comes out is valid UTF-8 that neither steers a terminal nor turns the
 * writing direction, and a name without such things comes out as it is. */
#include "support/check.h"

#include <string.h>

#include "core/escape.h"
#include "core/text.h"

#define R "\xef\xbf\xbd" /* U+FFFD */

static const struct {
  const char *given, *shown, *utf8;
} rows[] = {
    {"Klappe Stellung (\xc2\xb0), 2,385", "Klappe Stellung (\xc2\xb0), 2,385",
     "Klappe Stellung (\xc2\xb0), 2,385"},
    {"\xe5\x90\xb8\xe6\xb0\x97 \xf0\x9f\x94\xa7", "\xe5\x90\xb8\xe6\xb0\x97 \xf0\x9f\x94\xa7",
     "\xe5\x90\xb8\xe6\xb0\x97 \xf0\x9f\x94\xa7"},
    {"a\tb\r\nc\xc2\x85"
     "d\xe2\x80\xa9"
     "e",
     "a b  c d e",
     "a\tb\r\nc\xc2\x85"
     "d\xe2\x80\xa9"
     "e"},
    {"\033]0;title\007\033[2J", R "]0;title" R R "[2J", "\033]0;title\007\033[2J"},
    {"\x7f\xc2\x9b"
     "31m",
     R R "31m",
     "\x7f\xc2\x9b"
     "31m"},
    {"fil\xe2\x80\xae"
     "vsc.e\xe2\x81\xa6\xd8\x9c\xe2\x80\x8f",
     "fil" R "vsc.e" R R R,
     "fil\xe2\x80\xae"
     "vsc.e\xe2\x81\xa6\xd8\x9c\xe2\x80\x8f"},
    /* broken: Latin-1, cut off, overlong, a surrogate, beyond U+10FFFF, a lone follower */
    {"Stellung \xb0", "Stellung " R, "Stellung " R},
    {"cut \xe2\x82", "cut " R R, "cut " R R},
    {"\xc0\xaf", R R, R R},
    {"\xed\xa0\x80", R R R, R R R},
    {"\xf5\x80\x80\x80", R R R R, R R R R},
    {"x\x80y", "x" R "y", "x" R "y"},
    {"", "", ""},
};

static void names_come_out_harmless(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    plag_text out = {0};
    plag_text_add(&out, "<");
    plag_escape_add(&out, rows[i].given);
    plag_text_add(&out, "|");
    plag_escape_add_utf8(&out, rows[i].given);
    plag_text_add(&out, ">");
    plag_text expected = {0};
    plag_text_add_format(&expected, "<%s|%s>", rows[i].shown, rows[i].utf8);
    assert_string_equal(out.bytes, expected.bytes);
    plag_text_clear(&out);
    plag_text_clear(&expected);
  }
}

static void json_shows_no_control_and_says_the_same(void **state) {
  (void)state;
  static const struct {
    const char *given, *expected;
  } pieces[] = {
      {"Drehzahl \xc3\xa4 2.385", "Drehzahl \xc3\xa4 2.385"},
      {"\x7f\xc2\x9b"
       "31m",
       "\\u007f\\u009b31m"},
      {"a\xe2\x80\xae"
       "b\xd8\x9c\xe2\x81\xa9",
       "a\\u202eb\\u061c\\u2069"},
      {"\n  \xc2\xa0",
       "\n  \xc2\xa0"}, /* the line end between two keys, a space that does not break */
      {"", ""},
  };
  for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
    plag_text out = {0};
    plag_text_add(&out, "<");
    plag_escape_add_json(&out, pieces[i].given, strlen(pieces[i].given));
    assert_string_equal(out.bytes + 1, pieces[i].expected);
    plag_text_clear(&out);
  }
}

/* Every byte in front of every byte: what comes out is valid, and holds no control character. */
static void no_pair_of_bytes_gets_through(void **state) {
  (void)state;
  for (int first = 1; first < 256; first++)
    for (int second = 1; second < 256; second++) {
      const char pair[] = {(char)first, (char)second, '\0'};
      plag_text out = {0};
      plag_escape_add(&out, pair);
      for (size_t at = 0; at < out.length;) {
        unsigned point = 0;
        const size_t bytes = plag_utf8_read(out.bytes + at, out.length - at, &point);
        if (bytes == 0 || point < 0x20 || (point >= 0x7f && point < 0xa0))
          fail_msg("bytes %02x %02x come out as \"%s\"", (unsigned)first, (unsigned)second,
                   out.bytes);
        at += bytes;
      }
      plag_text_clear(&out);
    }
}

static void every_code_point_is_written_as_it_is_read(void **state) {
  (void)state;
  for (unsigned point = 0; point <= 0x10ffff; point++) {
    char text[4];
    unsigned read = 0;
    if (point >= 0xd800 && point <= 0xdfff)
      continue; /* surrogates are no characters */
    const size_t bytes = plag_utf8_write(point, text);
    if (plag_utf8_read(text, bytes, &read) != bytes || read != point)
      fail_msg("U+%04X comes back as U+%04X", point, read);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(names_come_out_harmless),
                                     cmocka_unit_test(json_shows_no_control_and_says_the_same),
                                     cmocka_unit_test(no_pair_of_bytes_gets_through),
                                     cmocka_unit_test(every_code_point_is_written_as_it_is_read)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
