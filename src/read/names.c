/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/names.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "core/text.h"
#include "read/fold.h"

/* Where `word` (with its "=", "^" or nothing in front) stands in the folded name; NULL if not. */
static const char *find_word(const char *folded, const char *word, size_t length) {
  const bool whole = length > 0 && word[0] == '=';
  const bool start = whole || (length > 0 && word[0] == '^');
  if (start) {
    word++;
    length--;
  }
  if (length == 0)
    return folded;
  for (const char *at = folded; (at = strchr(at, word[0])) != NULL; at++) {
    if (strncmp(at, word, length) != 0 || (start && at > folded && at[-1] != ' '))
      continue;
    if (whole && at[length] != ' ')
      continue;
    return at;
  }
  return NULL;
}

/* Whether all (or, with `any`, one) of the words parted by '&' stand in the name. */
static bool has_words(const char *folded, const char *words, bool any) {
  while (*words != '\0') {
    const size_t length = strcspn(words, "&");
    const bool found = find_word(folded, words, length) != NULL;
    if (any && found)
      return true;
    if (!any && !found)
      return false;
    words += length + (words[length] == '&');
  }
  return !any;
}

bool plag_name_has_word(const char *name, const char *const *words) {
  char folded[PLAG_FOLDED_BYTES];
  (void)plag_fold_words(name, strlen(name), folded);
  for (; *words != NULL; words++)
    if (find_word(folded, *words, strlen(*words)) != NULL)
      return true;
  return false;
}

/* The first word of each class that stands in the name, and whether words stand there that are in
 * no row. */
typedef struct found_words {
  const char *of[PLAG_WORD_CLASS_COUNT];
  bool unknown;
} found_words;

static found_words find_classes(const char *folded) {
  found_words found = {{NULL}, false};
  bool known[PLAG_FOLDED_BYTES] = {false};
  for (size_t i = 0; i < plag_name_word_count; i++) {
    const plag_name_word *row = &plag_name_words[i];
    const char *at = find_word(folded, row->word, strlen(row->word));
    if (at == NULL)
      continue;
    if (found.of[row->class] == NULL)
      found.of[row->class] = row->word + (row->word[0] == '=' || row->word[0] == '^');
    const size_t length = strlen(row->word) - (row->word[0] == '=' || row->word[0] == '^');
    size_t from = (size_t)(at - folded), to = from + length;
    while (from > 0 && folded[from - 1] != ' ')
      from--;
    while (folded[to] != ' ' && folded[to] != '\0')
      to++;
    memset(known + from, true, to - from);
  }
  for (size_t i = 0; folded[i] != '\0'; i++)
    found.unknown = found.unknown || (folded[i] != ' ' && !known[i]);
  return found;
}

/* "Position.1": how tools rename a second column of one name; it says nothing of a bank. */
static bool is_renamed(const char *name) {
  const size_t length = strlen(name);
  return length > 2 && name[length - 2] == '.' && name[length - 1] >= '0' &&
         name[length - 1] <= '9' && !(name[length - 3] >= '0' && name[length - 3] <= '9');
}

/* "bank 1", "b2", "imrc2", "position 1"; 0 when the name says none. */
static int find_bank(const char *folded, bool valve) {
  static const char *const words[] = {"bank ",  "bank",    "=bk ",      "=bk",      "=b",    "=b ",
                                      "=banc ", "=banco ", "=bancada ", "=rangee ", "=rang "};
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    for (int bank = 1; bank <= 2; bank++) {
      char word[24];
      (void)snprintf(word, sizeof word, "%s%d", words[i], bank);
      const char *at = find_word(folded, word, strlen(word));
      if (at != NULL) {
        const char *end = strchr(at, (char)('0' + bank)) + 1;
        if (*end == ' ' || !(*end >= '0' && *end <= '9'))
          return bank;
      }
    }
  }
  if (!valve)
    return 0;
  if (find_word(folded, "=1", 2) != NULL || find_word(folded, "imrc1 ", 6) != NULL)
    return 1;
  if (find_word(folded, "=2", 2) != NULL || find_word(folded, "imrc2 ", 6) != NULL)
    return 2;
  return 0;
}

static void set(plag_name_match *match, platelag_role role, double score, const char *one,
                const char *other) {
  match->role = role;
  match->score = score;
  if (other == NULL || one == NULL)
    (void)snprintf(match->reason, sizeof match->reason, "%s", one != NULL ? one : other);
  else
    (void)snprintf(match->reason, sizeof match->reason, "%s + %s", one, other);
}

/* What the words about movement make of a channel: command, desired position or position. */
static platelag_role role_of(const found_words *found, platelag_unit unit, const char **word) {
  const char *const *of = found->of;
  if (of[PLAG_WORD_DUTY] != NULL) {
    *word = of[PLAG_WORD_DUTY];
    return PLATELAG_ROLE_COMMAND;
  }
  if (of[PLAG_WORD_DESIRED] != NULL) {
    *word = of[PLAG_WORD_DESIRED];
    return PLATELAG_ROLE_DESIRED;
  }
  if (of[PLAG_WORD_COMMAND] != NULL && of[PLAG_WORD_FEEDBACK] == NULL) {
    *word = of[PLAG_WORD_COMMAND];
    return of[PLAG_WORD_POSITION] != NULL ? PLATELAG_ROLE_DESIRED : PLATELAG_ROLE_COMMAND;
  }
  *word = of[PLAG_WORD_POSITION] != NULL ? of[PLAG_WORD_POSITION] : of[PLAG_WORD_FEEDBACK];
  if (*word != NULL)
    return PLATELAG_ROLE_POSITION;
  *word = of[PLAG_WORD_WEAK_COMMAND];
  if (*word != NULL)
    return PLATELAG_ROLE_COMMAND;
  if (unit == PLATELAG_UNIT_VOLT) {
    *word = "volts";
    return PLATELAG_ROLE_POSITION;
  }
  return PLATELAG_ROLE_NONE;
}

static void recognise_valve(const char *name, const char *folded, platelag_unit unit,
                            plag_name_match *match) {
  const found_words found = find_classes(folded);
  const char *const *of = found.of;
  const char *valve = of[PLAG_WORD_VALVE];
  if (of[PLAG_WORD_OTHER_PART] != NULL || (of[PLAG_WORD_OTHER_UNLESS] != NULL && valve == NULL))
    return;
  const char *word = NULL;
  const platelag_role role = role_of(&found, unit, &word);
  const bool unit_fits = unit == PLATELAG_UNIT_PERCENT ||
                         (unit == PLATELAG_UNIT_VOLT && role != PLATELAG_ROLE_COMMAND) ||
                         (unit == PLATELAG_UNIT_UNKNOWN);
  const bool unit_speaks = unit_fits && unit != PLATELAG_UNIT_UNKNOWN;
  if (valve != NULL && role != PLATELAG_ROLE_NONE) {
    if (unit == PLATELAG_UNIT_OTHER && role == PLATELAG_ROLE_POSITION)
      set(match, role, 0.6, valve, word); /* degrees, counts */
    else
      set(match, role, unit_speaks ? 0.95 : 0.9, valve, word);
  } else if (valve != NULL && unit == PLATELAG_UNIT_PERCENT) {
    set(match, PLATELAG_ROLE_POSITION, 0.4, valve, "%");
  } else if (valve != NULL && unit == PLATELAG_UNIT_UNKNOWN) {
    set(match, PLATELAG_ROLE_COMMAND, 0.3, valve, NULL);
  } else if (!found.unknown && role != PLATELAG_ROLE_NONE && word != NULL &&
             (unit_fits || role == PLATELAG_ROLE_POSITION)) {
    const char *weak = of[PLAG_WORD_WEAK_VALVE];
    const bool bare_feedback = of[PLAG_WORD_POSITION] == NULL && role == PLATELAG_ROLE_POSITION;
    if (weak != NULL)
      set(match, role, 0.7, weak, word);
    else if (of[PLAG_WORD_DUTY] != NULL || of[PLAG_WORD_COMMAND] != NULL ||
             of[PLAG_WORD_WEAK_COMMAND] != NULL || of[PLAG_WORD_DESIRED] != NULL ||
             of[PLAG_WORD_POSITION] != NULL || (of[PLAG_WORD_FEEDBACK] != NULL && unit_speaks))
      set(match, role, bare_feedback ? 0.3 : 0.45, word, NULL);
  }
  if (match->role != PLATELAG_ROLE_NONE)
    match->bank = find_bank(folded, valve != NULL && !is_renamed(name));
}

plag_name_match plag_name_recognise(const char *name, const char *unit_text, platelag_unit unit) {
  plag_name_match match = {PLATELAG_ROLE_NONE, 0, 0, ""};
  char folded[PLAG_FOLDED_BYTES], folded_unit[PLAG_FOLDED_BYTES];
  (void)plag_fold_words(name, strlen(name), folded);
  (void)plag_fold_words(unit_text, strlen(unit_text), folded_unit);
  for (size_t i = 0; i < plag_name_rule_count; i++) {
    const plag_name_rule *rule = &plag_name_rules[i];
    if (!has_words(folded, rule->need, false) ||
        (rule->forbid != NULL && has_words(folded, rule->forbid, true)))
      continue;
    bool unit_holds = rule->unit == NULL;
    for (const char *at = rule->unit; !unit_holds && at != NULL && *at != '\0';) {
      const size_t length = strcspn(at, "&");
      unit_holds = strlen(folded_unit) == length + 2 && memcmp(folded_unit + 1, at, length) == 0;
      at += length + (at[length] == '&');
    }
    if (!unit_holds)
      continue;
    match.role = rule->role;
    match.score = 0.8;
    size_t used = 0;
    for (const char *at = rule->need; *at != '\0' && used + 4 < sizeof match.reason; at++) {
      if (*at == '&') {
        memcpy(match.reason + used, " + ", 3);
        used += 3;
      } else if (*at != '=' && *at != '^') {
        match.reason[used++] = *at;
      }
    }
    match.reason[used] = '\0';
    match.bank = find_bank(folded, false);
    return match;
  }
  recognise_valve(name, folded, unit, &match);
  return match;
}

/* "#3", "column 3"; 0 for what is none. */
static int named_number(const char *wanted) {
  const char *digits = wanted;
  if (*digits == '#')
    digits++;
  else if (strncmp(digits, "column ", 7) == 0)
    digits += 7;
  else
    return 0;
  int number = 0;
  for (; *digits >= '0' && *digits <= '9' && number < 100000; digits++)
    number = number * 10 + (*digits - '0');
  return *digits == '\0' ? number : 0;
}

typedef struct near_name {
  size_t distance;
  int column;
} near_name;

static int by_distance(const void *one, const void *other) {
  const near_name *a = one, *b = other;
  if (a->distance != b->distance)
    return a->distance < b->distance ? -1 : 1;
  return a->column - b->column;
}

/* The names of the columns, the closest to `wanted` first, as many as a message holds. */
static void list_columns(const plag_column_head *head, size_t count, const char *wanted,
                         plag_text *list) {
  enum { MOST_LISTED = 12 };
  char folded[PLAG_FOLDED_BYTES], other[PLAG_FOLDED_BYTES];
  near_name *near = calloc(count > 0 ? count : 1, sizeof *near);
  if (near == NULL)
    return;
  (void)plag_fold_name(wanted, strlen(wanted), folded);
  for (size_t i = 0; i < count; i++) {
    (void)plag_fold_name(head[i].name, strlen(head[i].name), other);
    near[i] = (near_name){plag_fold_distance(folded, other), (int)i};
  }
  qsort(near, count, sizeof *near, by_distance);
  for (size_t i = 0; i < count && i < MOST_LISTED; i++) {
    const plag_column_head *column = &head[near[i].column];
    if (column->full_name[0] != '\0')
      plag_text_add_format(list, "%s\"%s\"", i > 0 ? ", " : "", column->full_name);
    else
      plag_text_add_format(list, "%s\"#%d\"", i > 0 ? ", " : "", near[i].column + 1);
  }
  if (count > MOST_LISTED)
    plag_text_add_format(list, " and %zu more", count - MOST_LISTED);
  free(near);
}

/* How well a column's name is what was asked for: 3 to the letter, 2 but for case and blanks, 1
 * without its unit, 0 not. */
static int fit_of(const plag_column_head *head, const char *wanted, const char *folded) {
  char other[PLAG_FOLDED_BYTES];
  if (strcmp(head->full_name, wanted) == 0 && *wanted != '\0')
    return 3;
  (void)plag_fold_name(head->full_name, strlen(head->full_name), other);
  if (strcmp(other, folded) == 0 && *folded != '\0')
    return 2;
  (void)plag_fold_name(head->name, strlen(head->name), other);
  return strcmp(other, folded) == 0 && *folded != '\0';
}

bool plag_name_fits(const plag_column_head *head, const char *wanted) {
  char folded[PLAG_FOLDED_BYTES];
  (void)plag_fold_name(wanted, strlen(wanted), folded);
  return fit_of(head, wanted, folded) > 0;
}

int plag_name_find(const plag_column_head *head, size_t count, const char *wanted,
                   const char *option, const char *file, platelag_error *error) {
  const int number = named_number(wanted);
  if (number >= 1 && (size_t)number <= count)
    return number - 1;
  char folded[PLAG_FOLDED_BYTES];
  (void)plag_fold_name(wanted, strlen(wanted), folded);
  int best = -1, best_fit = 0, second = -1;
  for (size_t i = 0; i < count; i++) {
    const int fit = fit_of(&head[i], wanted, folded);
    if (fit > best_fit) {
      best_fit = fit;
      best = (int)i;
      second = -1;
    } else if (fit > 0 && fit == best_fit && second < 0) {
      second = (int)i;
    }
  }
  if (best >= 0 && second < 0)
    return best;
  if (best >= 0) {
    (void)plag_error_set(error, PLATELAG_ERROR_INPUT, file, 0, 0,
                         "the %s \"%s\" is the name of columns %d and %d; expected one that stands "
                         "once, or the column's number as \"#%d\"",
                         option, wanted, best + 1, second + 1, best + 1);
    return -1;
  }
  if (error == NULL)
    return -1;
  plag_text list = {0};
  list_columns(head, count, wanted, &list);
  (void)plag_error_set(error, PLATELAG_ERROR_INPUT, file, 0, 0,
                       "no column is named \"%s\" (given as %s); the columns are %s", wanted,
                       option, list.bytes != NULL ? list.bytes : "not named");
  plag_text_clear(&list);
  return -1;
}
