/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/known_words.h"

#include <string.h>

static const char *const known_words[] = {[PLATELAG_KNOWN_NOTHING] = "nothing",
                                          [PLATELAG_KNOWN_VALUE] = "value",
                                          [PLATELAG_KNOWN_UPPER_LIMIT] = "at most",
                                          [PLATELAG_KNOWN_LOWER_LIMIT] = "at least",
                                          [PLATELAG_KNOWN_BRACKET] = "between"};
enum { KNOWN_WORDS = sizeof known_words / sizeof known_words[0] };

const char *plag_known_word(platelag_known known) {
  return known_words[known];
}

platelag_known plag_known_of(const char *word) {
  for (int i = 0; i < KNOWN_WORDS; i++)
    if (strcmp(word, known_words[i]) == 0)
      return (platelag_known)i;
  return PLATELAG_KNOWN_NOTHING;
}

platelag_finding_kind plag_finding_of(const char *word) {
  for (int i = 0; i < PLATELAG_FINDING_COUNT; i++)
    if (strcmp(word, platelag_finding_name((platelag_finding_kind)i)) == 0)
      return (platelag_finding_kind)i;
  return PLATELAG_FINDING_UNDECIDED;
}

platelag_family plag_family_of(const char *word) {
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    if (strcmp(word, platelag_family_name((platelag_family)i)) == 0)
      return (platelag_family)i;
  return PLATELAG_FAMILY_UNDECIDED;
}
