/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/conditions.h"

#include <string.h>

/* As the words of conditions are written: small letters, underscores. */
static char folded(char c) {
  if (c >= 'A' && c <= 'Z')
    return (char)(c - 'A' + 'a');
  return c == ' ' || c == '-' ? '_' : c;
}

static bool is_word(const char *text, size_t length, const char *word) {
  if (strlen(word) != length)
    return false;
  for (size_t i = 0; i < length; i++)
    if (folded(text[i]) != word[i])
      return false;
  return true;
}

bool plag_condition_read(const char *text, size_t length, platelag_condition *out) {
  *out = PLATELAG_CONDITION_ROAD;
  if (length == 0)
    return true;
  for (int i = PLATELAG_CONDITION_ROAD; i <= PLATELAG_CONDITION_AFTER; i++)
    if (is_word(text, length, platelag_condition_name((platelag_condition)i))) {
      *out = (platelag_condition)i;
      return true;
    }
  return false;
}
