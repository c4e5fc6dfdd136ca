/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The words for how a capture was taken, as people write them. */
#include "support/check.h"

#include <string.h>

#include "fleet/conditions.h"

static const struct word {
  const char *text;
  bool known;
  platelag_condition condition;
} WORDS[] = {
    {"", true, PLATELAG_CONDITION_ROAD},
    {"road", true, PLATELAG_CONDITION_ROAD},
    {"rest", true, PLATELAG_CONDITION_REST},
    {"hand_sweep", true, PLATELAG_CONDITION_HAND_SWEEP},
    {"hand sweep", true, PLATELAG_CONDITION_HAND_SWEEP},
    {"Hand-Sweep", true, PLATELAG_CONDITION_HAND_SWEEP},
    {"AFTER", true, PLATELAG_CONDITION_AFTER},
    {"before", false, PLATELAG_CONDITION_ROAD},
    {"handsweep", false, PLATELAG_CONDITION_ROAD},
    {"roads", false, PLATELAG_CONDITION_ROAD},
    {" road", false, PLATELAG_CONDITION_ROAD},
    {"re", false, PLATELAG_CONDITION_ROAD},
};

static void words_are_read(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof WORDS / sizeof *WORDS; i++) {
    platelag_condition condition = PLATELAG_CONDITION_AFTER;
    const bool known = plag_condition_read(WORDS[i].text, strlen(WORDS[i].text), &condition);
    if (known != WORDS[i].known || condition != WORDS[i].condition)
      fail_msg("\"%s\": %d, condition %d", WORDS[i].text, known, (int)condition);
  }
}

static void every_condition_is_read_back(void **state) {
  (void)state;
  for (int i = PLATELAG_CONDITION_ROAD; i <= PLATELAG_CONDITION_AFTER; i++) {
    const char *name = platelag_condition_name((platelag_condition)i);
    platelag_condition condition = PLATELAG_CONDITION_ROAD;
    assert_true(plag_condition_read(name, strlen(name), &condition));
    assert_int_equal(condition, i);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(words_are_read),
                                     cmocka_unit_test(every_condition_is_read_back)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
