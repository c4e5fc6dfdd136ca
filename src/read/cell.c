/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/cell.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "core/number.h"
#include "read/fold.h"

enum { LONGEST_NUMBER_BYTES = 64 };

/* Cells that say "no value", without their signs and blanks, in lower case; a new one is one row.
 * Marks of signs alone ("--", "***", "?") need no row. */
static const char *const missing_words[] = {
    "na",           "nan",          "null",           "none",         "nil",      "nodata",
    "novalue",      "notavailable", "unavailable",    "notsupported", "nv",       "ka",
    "keindaten",    "keinedaten",   "nichtverfugbar", "keinwert",     "nd",       "nondisponible",
    "nodisponible", "sindatos",     "sansdonnees",    "1ind",         "1qnan",    "1snan",
    "1nan",         "qnan",         "naninternal",    "invalid",      "ungultig", "missing",
    "empty",        "leer",         "timeout",        "noresponse",
};

typedef struct state_word {
  const char *word;
  double value;
} state_word;

/* English, German, French, Spanish; folded. A new one is one row. */
static const state_word state_words[] = {
    {"on", 1},          {"off", 0},         {"open", 1},      {"opened", 1},    {"closed", 0},
    {"close", 0},       {"shut", 0},        {"yes", 1},       {"no", 0},        {"true", 1},
    {"false", 0},       {"active", 1},      {"inactive", 0},  {"activated", 1}, {"deactivated", 0},
    {"enabled", 1},     {"disabled", 0},    {"high", 1},      {"low", 0},       {"ein", 1},
    {"aus", 0},         {"an", 1},          {"auf", 1},       {"zu", 0},        {"offen", 1},
    {"geoffnet", 1},    {"geschlossen", 0}, {"ja", 1},        {"nein", 0},      {"wahr", 1},
    {"falsch", 0},      {"aktiv", 1},       {"inaktiv", 0},   {"oui", 1},       {"non", 0},
    {"ouvert", 1},      {"ouverte", 1},     {"ferme", 0},     {"fermee", 0},    {"marche", 1},
    {"arret", 0},       {"vrai", 1},        {"faux", 0},      {"actif", 1},     {"inactif", 0},
    {"si", 1},          {"abierto", 1},     {"abierta", 1},   {"cerrado", 0},   {"cerrada", 0},
    {"encendido", 1},   {"apagado", 0},     {"verdadero", 1}, {"falso", 0},     {"activado", 1},
    {"desactivado", 0}, {"activo", 1},      {"inactivo", 0},
};

static bool is_digit(char character) {
  return character >= '0' && character <= '9';
}

/* Letters and digits only: "N/A" and "n.a." are the same mark. */
static size_t fold_bare(const char *text, size_t length, char out[PLAG_FOLDED_BYTES]) {
  char words[PLAG_FOLDED_BYTES];
  const size_t count = plag_fold_words(text, length, words);
  size_t used = 0;
  for (size_t i = 0; i < count; i++)
    if (words[i] != ' ')
      out[used++] = words[i];
  out[used] = '\0';
  return used;
}

/* Whether the cell is made of signs only, as "--", "***", "?" or a long dash are, or is the error
 * of a spreadsheet, "#N/A". */
static bool is_mark(const char *text, size_t length) {
  if (text[0] == '#' || (length == 3 && memcmp(text, "\xE2\x80\x93", 2) == 0))
    return true;
  for (size_t i = 0; i < length; i++)
    if (strchr("-*?._/~", text[i]) == NULL)
      return false;
  return true;
}

static bool is_missing_word(const char *bare) {
  for (size_t i = 0; i < sizeof missing_words / sizeof missing_words[0]; i++)
    if (strcmp(bare, missing_words[i]) == 0)
      return true;
  return false;
}

static bool find_state(const char *bare, double *value) {
  for (size_t i = 0; i < sizeof state_words / sizeof state_words[0]; i++)
    if (strcmp(bare, state_words[i].word) == 0) {
      *value = state_words[i].value;
      return true;
    }
  return false;
}

/* The length of a mark that may part thousands at `text`, 0 for none; a minus that is no ASCII is
 * told by `*minus`. */
static size_t group_mark(const char *text, size_t length, char group) {
  if (length >= 1 && (*text == ' ' || *text == '\'' || (group != 0 && *text == group)))
    return 1;
  if (length >= 2 && memcmp(text, "\xC2\xA0", 2) == 0)
    return 2;
  if (length >= 3 && (memcmp(text, "\xE2\x80\xAF", 3) == 0 ||
                      memcmp(text, "\xE2\x80\x99", 3) == 0 || memcmp(text, "\xE2\x80\x89", 3) == 0))
    return 3;
  return 0;
}

static bool three_digits(const char *text, size_t length) {
  return length >= 3 && is_digit(text[0]) && is_digit(text[1]) && is_digit(text[2]) &&
         !(length > 3 && is_digit(text[3]));
}

/* Copies a number with its thousands parted and any kind of minus into `plain`, as far as it reads
 * like one; returns the bytes of `text` used. Blanks and marks count only between a first group of
 * one to three digits and groups of exactly three. */
static size_t take_grouped(const char *text, size_t length, plag_notation notation,
                           char plain[LONGEST_NUMBER_BYTES], size_t *plain_length) {
  size_t at = 0, used = 0, first = 0;
  if (length >= 3 && memcmp(text, "\xE2\x88\x92", 3) == 0) {
    plain[used++] = '-';
    at = 3;
  } else if (length >= 1 && (*text == '-' || *text == '+')) {
    plain[used++] = *text;
    at = 1;
  }
  while (at < length && is_digit(text[at]) && used + 1 < LONGEST_NUMBER_BYTES) {
    plain[used++] = text[at++];
    first++;
  }
  while (first >= 1 && first <= 3 && used + 4 < LONGEST_NUMBER_BYTES) {
    const size_t mark = group_mark(text + at, length - at, notation.group);
    if (mark == 0 || !three_digits(text + at + mark, length - at - mark))
      break;
    memcpy(plain + used, text + at + mark, 3);
    used += 3;
    at += mark + 3;
  }
  if (at < length && text[at] == notation.decimal) {
    plain[used++] = '.';
    at++;
    while (at < length && is_digit(text[at]) && used + 1 < LONGEST_NUMBER_BYTES)
      plain[used++] = text[at++];
  }
  *plain_length = used;
  return at;
}

/* A number in any notation, with or without a unit behind it. */
static bool read_spelled(const char *text, size_t length, plag_notation notation,
                         plag_value *value) {
  char plain[LONGEST_NUMBER_BYTES];
  size_t plain_length = 0;
  size_t used = plag_number_read(text, length, notation.decimal, &value->number);
  const size_t grouped = take_grouped(text, length, notation, plain, &plain_length);
  if (grouped > used && plag_number_read(plain, plain_length, '.', &value->number) == plain_length)
    used = grouped;
  if (used == 0 || !isfinite(value->number))
    return false;
  while (used < length && text[used] == ' ')
    used++;
  if (used + 1 < length && memcmp(text + used, "\xC2\xA0", 2) == 0)
    used += 2;
  if (used < length) {
    value->unit = plag_unit_find(text + used, length - used);
    if (value->unit == NULL)
      return false;
  }
  value->kind = PLAG_CELL_NUMBER;
  return true;
}

plag_value plag_cell_read(const char *text, size_t length, plag_notation notation) {
  plag_value value = {PLAG_CELL_MISSING, NAN, NULL};
  if (length == 0)
    return value;
  if (plag_number_read_short(text, length, notation.decimal, &value.number) ||
      (plag_number_read(text, length, notation.decimal, &value.number) == length &&
       isfinite(value.number))) {
    value.kind = PLAG_CELL_NUMBER;
    return value;
  }
  if (read_spelled(text, length, notation, &value))
    return value;
  value = (plag_value){PLAG_CELL_MISSING, NAN, NULL};
  if (is_mark(text, length))
    return value;
  char bare[PLAG_FOLDED_BYTES];
  (void)fold_bare(text, length, bare);
  if (is_missing_word(bare))
    return value;
  value.kind = find_state(bare, &value.number) ? PLAG_CELL_STATE : PLAG_CELL_OTHER;
  return value;
}

bool plag_cell_is_beyond(const char *text, size_t length) {
  double value = 0;
  if (length > 0 && (*text == '-' || *text == '+')) {
    text++;
    length--;
  }
  if (length >= 3 && strncasecmp(text, "inf", 3) == 0)
    return length == 3 || (length == 8 && strncasecmp(text, "infinity", 8) == 0);
  return length > 0 && is_digit(*text) && plag_number_read(text, length, '.', &value) == length &&
         !isfinite(value);
}

plag_notation_hint plag_cell_hint(const char *text, size_t length) {
  size_t at = length > 0 && (*text == '-' || *text == '+') ? 1 : 0;
  const size_t start = at;
  size_t marks = 0, since = 0, first = 0;
  char last = 0;
  bool two_kinds = false;
  for (; at < length && (is_digit(text[at]) || text[at] == '.' || text[at] == ','); at++) {
    if (is_digit(text[at])) {
      since++;
      continue;
    }
    if (marks == 0)
      first = since;
    two_kinds = two_kinds || (marks > 0 && text[at] != last);
    last = text[at];
    marks++;
    since = 0;
  }
  if (at == start || (at < length && is_digit(text[length - 1])))
    return PLAG_HINT_NONE;
  if (marks == 0)
    return PLAG_HINT_PLAIN;
  const bool point = last == '.';
  if (marks > 1 && !two_kinds) /* "1.234.567": the mark parts thousands, the other is decimal */
    return point ? PLAG_HINT_DECIMAL_COMMA : PLAG_HINT_DECIMAL_POINT;
  if (two_kinds || since != 3 || first == 0 || first > 3 || text[start] == '0')
    return point ? PLAG_HINT_DECIMAL_POINT : PLAG_HINT_DECIMAL_COMMA;
  return point ? PLAG_HINT_EITHER_POINT : PLAG_HINT_EITHER_COMMA;
}
