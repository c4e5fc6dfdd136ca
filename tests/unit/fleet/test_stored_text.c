/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any bytes of a name become valid UTF-8 for a server and come back as they were; two names never
 * become one. */
#include "support/check.h"
#include "support/made_random.h"

#include <string.h>

#include "core/escape.h"
#include "fleet/stored_text.h"

static const struct row {
  const char *text, *stored;
} ROWS[] = {
    {"", ""},
    {"bus 17/monday.csv", "bus 17/monday.csv"},
    {"\xc3\xbc\xe6\x97\xa5", "\xc3\xbc\xe6\x97\xa5"},
    {"a\xff.csv", "a\xf4\x8f\xbb\xbf.csv"},
    {"\x80", "\xf4\x8f\xba\x80"},
    {"\xc3(", "\xf4\x8f\xbb\x83("},
    {"\xed\xa0\x80", "\xf4\x8f\xbb\xad\xf4\x8f\xba\xa0\xf4\x8f\xba\x80"}, /* a surrogate */
    /* a name that looks like what is stored for "\x80" */
    {"\xf4\x8f\xba\x80", "\xf4\x8f\xbb\xb4\xf4\x8f\xba\x8f\xf4\x8f\xba\xba\xf4\x8f\xba\x80"},
};

static void check_way(const char *text, const char *stored) {
  plag_text packed = {0};
  plag_text unpacked = {0};
  plag_text clean = {0};
  plag_stored_text_pack(&packed, text);
  if (stored != NULL)
    assert_string_equal(packed.bytes, stored);
  assert_int_equal(plag_stored_text_is_plain(text), strcmp(packed.bytes, text) == 0);
  plag_escape_add_utf8(&clean, packed.bytes);
  assert_string_equal(clean.bytes != NULL ? clean.bytes : "", packed.bytes); /* nothing is broken */
  plag_stored_text_unpack(&unpacked, packed.bytes);
  assert_string_equal(unpacked.bytes, text);
  if (plag_stored_text_is_same(packed.bytes))
    assert_string_equal(packed.bytes, text);
  plag_text_clear(&packed);
  plag_text_clear(&unpacked);
  plag_text_clear(&clean);
}

static void test_known_names(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++)
    check_way(ROWS[i].text, ROWS[i].stored);
}

static void test_any_bytes(void **state) {
  (void)state;
  /* Bytes that begin or go on characters, more often than chance has it. */
  static const unsigned char LIKELY[] = {0xf4, 0x8f, 0xba, 0xbb, 0x80, 0xbf, 0xc3, 0xe6, 'a'};
  enum { NAMES = 20000, LONGEST = 12 };
  plag_test_random random = {plag_test_seed(2385)};
  for (int i = 0; i < NAMES; i++) {
    char text[LONGEST + 1] = "";
    const size_t length = (size_t)plag_test_random_uniform(&random, 0, LONGEST);
    for (size_t k = 0; k < length; k++)
      text[k] = (char)(plag_test_random_uniform(&random, 0, 1) < 0.7
                           ? LIKELY[(size_t)plag_test_random_uniform(&random, 0, sizeof LIKELY)]
                           : (unsigned char)plag_test_random_uniform(&random, 1, 256));
    check_way(text, NULL);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_known_names),
      cmocka_unit_test(test_any_bytes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
