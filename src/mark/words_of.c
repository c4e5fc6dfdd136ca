/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/words_of.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "core/number.h"

bool plag_same_name(const char *one, const char *other) {
  for (;; one++, other++) {
    one += strspn(one, " .");
    other += strspn(other, " .");
    const char a = (char)(*one >= 'A' && *one <= 'Z' ? *one - 'A' + 'a' : *one);
    const char b = (char)(*other >= 'A' && *other <= 'Z' ? *other - 'A' + 'a' : *other);
    if (a != b)
      return false;
    if (a == '\0')
      return true;
  }
}

/* Another word for a name. */
typedef struct other_word {
  const char *word;
  int means;
} other_word;

static bool same_word(const char *text, const char *word) {
  size_t length = strlen(text);
  while (length > 0 && text[length - 1] == ' ')
    length--;
  if (length != strlen(word))
    return false;
  for (size_t i = 0; i < length; i++) {
    const char c = (char)tolower((unsigned char)text[i]);
    if (c != word[i] && !(word[i] == '_' && (c == ' ' || c == '-')))
      return false;
  }
  return true;
}

static int find_other(const char *text, const other_word *others, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (same_word(text, others[i].word))
      return others[i].means;
  return -1;
}

#define COUNT(list) (sizeof(list) / sizeof(list)[0])

bool plag_read_finding(const char *text, platelag_finding_kind *out) {
  static const other_word others[] = {{"cannot_tell", PLATELAG_FINDING_UNDECIDED},
                                      {"cannot_be_told", PLATELAG_FINDING_UNDECIDED},
                                      {"cannot_be_told_from_this", PLATELAG_FINDING_UNDECIDED},
                                      {"unknown", PLATELAG_FINDING_UNDECIDED},
                                      {"none", PLATELAG_FINDING_FREE},
                                      {"ok", PLATELAG_FINDING_FREE},
                                      {"healthy", PLATELAG_FINDING_FREE},
                                      {"no_fault", PLATELAG_FINDING_FREE},
                                      {"sticks", PLATELAG_FINDING_STICKING},
                                      {"high", PLATELAG_FINDING_SIGNAL_HIGH},
                                      {"low", PLATELAG_FINDING_SIGNAL_LOW},
                                      {"erratic", PLATELAG_FINDING_SIGNAL_ERRATIC},
                                      {"dropouts", PLATELAG_FINDING_SIGNAL_ERRATIC},
                                      {"shifted", PLATELAG_FINDING_SIGNAL_SHIFTED},
                                      {"short", PLATELAG_FINDING_SHORT_TRAVEL}};
  for (int i = 0; i < PLATELAG_FINDING_COUNT; i++)
    if (same_word(text, platelag_finding_name((platelag_finding_kind)i))) {
      *out = (platelag_finding_kind)i;
      return true;
    }
  const int means = find_other(text, others, COUNT(others));
  if (means >= 0)
    *out = (platelag_finding_kind)means;
  return means >= 0;
}

bool plag_read_family(const char *text, platelag_family *out) {
  static const other_word others[] = {{"plates", PLATELAG_FAMILY_MECHANICAL},
                                      {"carbon", PLATELAG_FAMILY_MECHANICAL},
                                      {"shaft", PLATELAG_FAMILY_MECHANICAL},
                                      {"sensor", PLATELAG_FAMILY_SENSOR_CIRCUIT},
                                      {"circuit", PLATELAG_FAMILY_SENSOR_CIRCUIT},
                                      {"wiring", PLATELAG_FAMILY_SENSOR_CIRCUIT},
                                      {"actuator", PLATELAG_FAMILY_DRIVE},
                                      {"none", PLATELAG_FAMILY_FREE},
                                      {"ok", PLATELAG_FAMILY_FREE},
                                      {"no_fault", PLATELAG_FAMILY_FREE},
                                      {"cannot_tell", PLATELAG_FAMILY_UNDECIDED},
                                      {"unknown", PLATELAG_FAMILY_UNDECIDED}};
  for (int i = 0; i <= PLATELAG_FAMILY_UNDECIDED; i++)
    if (same_word(text, platelag_family_name((platelag_family)i))) {
      *out = (platelag_family)i;
      return true;
    }
  const int means = find_other(text, others, COUNT(others));
  if (means >= 0)
    *out = (platelag_family)means;
  return means >= 0;
}

bool plag_read_verdict(const char *text, platelag_code_verdict *out) {
  static const other_word others[] = {{"yes", PLATELAG_CODE_SUPPORTED},
                                      {"no", PLATELAG_CODE_CONTRADICTED},
                                      {"unknown", PLATELAG_CODE_CANNOT_TELL}};
  for (int i = 0; i <= PLATELAG_CODE_CANNOT_TELL; i++)
    if (same_word(text, platelag_code_verdict_name((platelag_code_verdict)i))) {
      *out = (platelag_code_verdict)i;
      return true;
    }
  const int means = find_other(text, others, COUNT(others));
  if (means >= 0)
    *out = (platelag_code_verdict)means;
  return means >= 0;
}

bool plag_read_condition(const char *text, platelag_condition *out) {
  *out = PLATELAG_CONDITION_ROAD;
  if (text[0] == '\0')
    return true;
  for (int i = 0; i <= PLATELAG_CONDITION_AFTER; i++)
    if (same_word(text, platelag_condition_name((platelag_condition)i))) {
      *out = (platelag_condition)i;
      return true;
    }
  return false;
}

const char *plag_read_test(const char *text) {
  static const char *const keys[] = {"hand_sweep", "connector", "active_test", "supply",
                                     "borescope",  "hot_drive", "record_again"};
  static const other_word others[] = {{"sweep", 0},     {"meter", 1},  {"measure", 1},
                                      {"voltmeter", 1}, {"drive", 2},  {"actuator", 2},
                                      {"current", 3},   {"look", 4},   {"inspect", 4},
                                      {"hot", 5},       {"repeat", 6}, {"record", 6}};
  for (size_t i = 0; i < COUNT(keys); i++)
    if (same_word(text, keys[i]))
      return keys[i];
  const int means = find_other(text, others, COUNT(others));
  return means >= 0 ? keys[means] : NULL;
}

double plag_read_figure(const char *text) {
  double value = NAN;
  const size_t length = strlen(text);
  const size_t point = plag_number_read(text, length, '.', &value);
  double by_comma = NAN;
  const size_t comma = plag_number_read(text, length, ',', &by_comma);
  const size_t used = comma > point ? comma : point;
  if (comma > point)
    value = by_comma;
  /* "70-80", "0.3 or 0.5" and "1/3" are not one number. */
  const bool plain = used > 0 && strpbrk(text + used, "0123456789.,") == NULL && isfinite(value);
  return plain ? value : NAN;
}

static bool names_per_cent(const char *text) {
  return strchr(text, '%') != NULL || strstr(text, "per") != NULL || strstr(text, "Per") != NULL;
}

double plag_read_probability(const char *text) {
  enum { CLEARLY_PER_CENT = 10 };
  const double value = plag_read_figure(text);
  const bool per_cent = names_per_cent(text) || value >= CLEARLY_PER_CENT;
  const double share = per_cent ? value / 100 : value;
  return share >= 0 && share <= 1 ? share : NAN;
}
