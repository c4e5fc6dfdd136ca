/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What people write is read kindly, and never guessed at: a word or a number that may mean two
 * things means nothing. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "mark/words_of.h"

enum { NONE = -1 };

typedef struct word_row {
  const char *text;
  int means; /* NONE: not understood */
} word_row;

static int finding_of(const char *text) {
  platelag_finding_kind kind = PLATELAG_FINDING_FREE;
  return plag_read_finding(text, &kind) ? (int)kind : NONE;
}

static int family_of(const char *text) {
  platelag_family family = PLATELAG_FAMILY_FREE;
  return plag_read_family(text, &family) ? (int)family : NONE;
}

static int verdict_of(const char *text) {
  platelag_code_verdict verdict = PLATELAG_CODE_SUPPORTED;
  return plag_read_verdict(text, &verdict) ? (int)verdict : NONE;
}

static int condition_of(const char *text) {
  platelag_condition condition = PLATELAG_CONDITION_AFTER;
  return plag_read_condition(text, &condition) ? (int)condition : NONE;
}

static void check_words(const word_row *rows, size_t count, int (*read)(const char *)) {
  for (size_t i = 0; i < count; i++)
    if (read(rows[i].text) != rows[i].means)
      fail_msg("\"%s\" means %d, expected %d", rows[i].text, read(rows[i].text), rows[i].means);
}

#define COUNT(list) (sizeof(list) / sizeof(list)[0])

static void findings_are_read_kindly(void **state) {
  (void)state;
  static const word_row ROWS[] = {{"sticking", PLATELAG_FINDING_STICKING},
                                  {"STICKING  ", PLATELAG_FINDING_STICKING},
                                  {"Signal High", PLATELAG_FINDING_SIGNAL_HIGH},
                                  {"signal-low", PLATELAG_FINDING_SIGNAL_LOW},
                                  {"short travel", PLATELAG_FINDING_SHORT_TRAVEL},
                                  {"Cannot tell", PLATELAG_FINDING_UNDECIDED},
                                  {"undecided", PLATELAG_FINDING_UNDECIDED},
                                  {"No fault", PLATELAG_FINDING_FREE},
                                  {"dropouts", PLATELAG_FINDING_SIGNAL_ERRATIC},
                                  {"", NONE},
                                  {" ", NONE},
                                  {"stick", NONE},
                                  {"sticking slow", NONE},
                                  {"signal_high=", NONE},
                                  {"hängt", NONE},
                                  {"=1+1", NONE}};
  check_words(ROWS, COUNT(ROWS), finding_of);
}

static void families_verdicts_and_conditions_are_read_kindly(void **state) {
  (void)state;
  static const word_row FAMILIES[] = {{"Mechanical", PLATELAG_FAMILY_MECHANICAL},
                                      {"sensor circuit", PLATELAG_FAMILY_SENSOR_CIRCUIT},
                                      {"Wiring", PLATELAG_FAMILY_SENSOR_CIRCUIT},
                                      {"actuator", PLATELAG_FAMILY_DRIVE},
                                      {"cannot-tell", PLATELAG_FAMILY_UNDECIDED},
                                      {"none", PLATELAG_FAMILY_FREE},
                                      {"", NONE},
                                      {"driver", NONE}};
  static const word_row VERDICTS[] = {{"Supported", PLATELAG_CODE_SUPPORTED},
                                      {"no", PLATELAG_CODE_CONTRADICTED},
                                      {"cannot tell", PLATELAG_CODE_CANNOT_TELL},
                                      {"", NONE},
                                      {"maybe", NONE}};
  static const word_row CONDITIONS[] = {{"", PLATELAG_CONDITION_ROAD},
                                        {"Road", PLATELAG_CONDITION_ROAD},
                                        {"hand sweep", PLATELAG_CONDITION_HAND_SWEEP},
                                        {"HAND-SWEEP", PLATELAG_CONDITION_HAND_SWEEP},
                                        {"after", PLATELAG_CONDITION_AFTER},
                                        {"rest", PLATELAG_CONDITION_REST},
                                        {"afterwards", NONE}};
  check_words(FAMILIES, COUNT(FAMILIES), family_of);
  check_words(VERDICTS, COUNT(VERDICTS), verdict_of);
  check_words(CONDITIONS, COUNT(CONDITIONS), condition_of);
}

static void tests_are_read_kindly(void **state) {
  (void)state;
  static const struct {
    const char *text, *means;
  } ROWS[] = {{"hand sweep", "hand_sweep"},
              {"Sweep", "hand_sweep"},
              {"voltmeter", "connector"},
              {"borescope", "borescope"},
              {"Repeat", "record_again"},
              {"look", "borescope"},
              {"", NULL},
              {"replace it", NULL}};
  for (size_t i = 0; i < COUNT(ROWS); i++) {
    const char *means = plag_read_test(ROWS[i].text);
    if ((means == NULL) != (ROWS[i].means == NULL) ||
        (means != NULL && strcmp(means, ROWS[i].means) != 0))
      fail_msg("\"%s\" means %s", ROWS[i].text, means != NULL ? means : "nothing");
  }
}

static void figures_and_probabilities_are_one_number(void **state) {
  (void)state;
  static const struct {
    const char *text;
    double figure, probability;
  } ROWS[] = {{"0.37", 0.37, 0.37},
              {"0,37", 0.37, 0.37},
              {"80 %", 80, 0.8},
              {"80%", 80, 0.8},
              {"62,5 %", 62.5, 0.625},
              {"80", 80, 0.8},
              {"100", 100, 1},
              {"1", 1, 1},
              {"0", 0, 0},
              {"0.5 %", 0.5, 0.005},
              {"1 %", 1, 0.01},
              {"80 per cent", 80, 0.8},
              {"1 Percent", 1, 0.01},
              {"80\xc2\xa0%", 80, 0.8},
              {"0.21 s", 0.21, 0.21},
              {"1.5", 1.5, NAN},
              {"9,9", 9.9, NAN},
              {"120 %", 120, NAN},
              {"-0.2", -0.2, NAN},
              {"70-80 %", NAN, NAN},
              {"1/3", NAN, NAN},
              {"0.3 or 0.5", NAN, NAN},
              {"1.234,5", NAN, NAN},
              {"1,234.5", NAN, NAN},
              {"1.2.3", NAN, NAN},
              {"~0.4", NAN, NAN},
              {"<0.4", NAN, NAN},
              {"", NAN, NAN},
              {"sure", NAN, NAN},
              {"nan", NAN, NAN},
              {"inf", NAN, NAN},
              {"1e999", NAN, NAN},
              {"=1+1", NAN, NAN},
              {"0,8,", NAN, NAN}};
  for (size_t i = 0; i < COUNT(ROWS); i++) {
    const double figure = plag_read_figure(ROWS[i].text);
    const double probability = plag_read_probability(ROWS[i].text);
    if (isnan(figure) != isnan(ROWS[i].figure) || isnan(probability) != isnan(ROWS[i].probability))
      fail_msg("\"%s\": %g and %g", ROWS[i].text, figure, probability);
    assert_close(figure, ROWS[i].figure, 1e-15, 0);
    assert_close(probability, ROWS[i].probability, 1e-15, 0);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(findings_are_read_kindly),
      cmocka_unit_test(families_verdicts_and_conditions_are_read_kindly),
      cmocka_unit_test(tests_are_read_kindly),
      cmocka_unit_test(figures_and_probabilities_are_one_number)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
