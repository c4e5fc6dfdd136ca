/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the store keeps as words comes back as what it was; a newer program's words decide nothing.
 */
#include "support/check.h"

#include "fleet/known_words.h"

static void words_come_back(void **state) {
  (void)state;
  for (int i = PLATELAG_KNOWN_NOTHING; i <= PLATELAG_KNOWN_BRACKET; i++)
    assert_int_equal(plag_known_of(plag_known_word((platelag_known)i)), i);
  for (int i = 0; i < PLATELAG_FINDING_COUNT; i++)
    assert_int_equal(plag_finding_of(platelag_finding_name((platelag_finding_kind)i)), i);
  for (int i = 0; i <= PLATELAG_FAMILY_UNDECIDED; i++)
    assert_int_equal(plag_family_of(platelag_family_name((platelag_family)i)), i);
}

static void other_words_decide_nothing(void **state) {
  (void)state;
  static const char *const words[] = {"", "cracked", "FREE", "free "};
  for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
    assert_int_equal(plag_known_of(words[i]), PLATELAG_KNOWN_NOTHING);
    assert_int_equal(plag_finding_of(words[i]), PLATELAG_FINDING_UNDECIDED);
    assert_int_equal(plag_family_of(words[i]), PLATELAG_FAMILY_UNDECIDED);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(words_come_back),
                                     cmocka_unit_test(other_words_decide_nothing)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
