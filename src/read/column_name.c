/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/column_name.h"

#include <string.h>

#include "read/units.h"

/* Where the unit stands in a name; both parts with brackets and blanks still around them. */
typedef struct name_parts {
  size_t name_length;
  const char *unit;
  size_t unit_length;
  const char *rest; /* of the name, behind the unit */
} name_parts;

/* Units that are no suffix of a name without brackets: "Speed min" is a lowest speed, "Bank A" no
 * current. */
static const char *const no_suffix[] = {"min", "lambda", "AFR",    "d",     "h",    "l",
                                        "m",   "g",      "C",      "F",     "K",    "A",
                                        "W",   "days",   "counts", "steps", "miles"};

static bool is_blank(char character) {
  return character == ' ' || character == '\t' || character == '\n';
}

static bool is_letter(char character) {
  return (character >= 'a' && character <= 'z') || (character >= 'A' && character <= 'Z');
}

/* A sign that was UTF-8, was taken for Latin-1 and encoded again stands as C3 82 C2 xx or
 * C3 83 C2 xx; the inner sign is C2 xx or C3 xx. No text in any language holds such a pair. */
static bool is_encoded_twice(const char *text, size_t length) {
  return length >= 4 && (unsigned char)text[0] == 0xc3 &&
         ((unsigned char)text[1] == 0x82 || (unsigned char)text[1] == 0x83) &&
         (unsigned char)text[2] == 0xc2;
}

char *plag_column_clean(plag_arena *arena, plag_cell cell) {
  char *clean = plag_arena_copy_bytes(arena, cell.text, cell.length);
  if (clean == NULL)
    return NULL;
  size_t used = 0;
  for (size_t at = 0; at < cell.length; at++) {
    const char *text = cell.text + at;
    if (is_encoded_twice(text, cell.length - at)) {
      clean[used++] = (unsigned char)text[1] == 0x82 ? '\xc2' : '\xc3';
      clean[used++] = text[3];
      at += 3;
    } else if (is_blank(*text)) {
      if (used > 0 && clean[used - 1] != ' ')
        clean[used++] = ' ';
    } else {
      clean[used++] = *text;
      at += *text == '"' && at + 1 < cell.length && text[1] == '"'; /* a doubled quote */
    }
  }
  while (used > 0 && clean[used - 1] == ' ')
    used--;
  clean[used] = '\0';
  return clean;
}

static bool is_known(const char *text, size_t length) {
  return plag_unit_find(text, length) != NULL;
}

/* "(V)" or "[V]" or "()" anywhere; the last that is empty or known. */
static bool find_bracketed(const char *full, name_parts *parts) {
  static const char open[] = "([{", close[] = ")]}";
  for (size_t at = strlen(full); at-- > 0;) {
    const char *kind = full[at] == '\0' ? NULL : strchr(open, full[at]);
    const char *end = kind == NULL ? NULL : strchr(full + at, close[kind - open]);
    if (end == NULL)
      continue;
    const char *unit = full + at + 1;
    const size_t length = (size_t)(end - unit);
    if (strspn(unit, " ") < length && !is_known(unit, length))
      continue;
    *parts = (name_parts){at, unit, length, end + 1};
    return true;
  }
  return false;
}

/* "Pos, V", "Pos/V", "Pos; V", "Pos: V"; the longest unit behind such a mark. */
static bool find_after_mark(const char *full, name_parts *parts) {
  for (const char *mark = strpbrk(full, ",/;:"); mark != NULL; mark = strpbrk(mark + 1, ",/;:")) {
    const char *unit = mark + 1;
    const size_t length = strlen(unit), name_length = (size_t)(mark - full);
    const bool pair = name_length <= 1 && length <= 1 && unit[0] != 's'; /* "A/C", "A/F" */
    if (name_length == 0 || pair || !is_known(unit, length))
      continue;
    *parts = (name_parts){name_length, unit, length, ""};
    return true;
  }
  return false;
}

static bool may_be_suffix(const char *unit, size_t length) {
  for (size_t i = 0; i < sizeof no_suffix / sizeof no_suffix[0]; i++)
    if (strlen(no_suffix[i]) == length && memcmp(no_suffix[i], unit, length) == 0)
      return false;
  return true;
}

/* "Pos_pct", "Pos V", "Pos%". */
static bool find_suffix(const char *full, name_parts *parts) {
  for (const char *mark = strpbrk(full, "_ "); mark != NULL; mark = strpbrk(mark + 1, "_ ")) {
    const char *unit = mark + 1;
    const size_t length = strlen(unit);
    if (mark == full || !is_known(unit, length) || !may_be_suffix(unit, length))
      continue;
    *parts = (name_parts){(size_t)(mark - full), unit, length, ""};
    return true;
  }
  const size_t length = strlen(full);
  if (length < 2 || full[length - 1] != '%')
    return false;
  *parts = (name_parts){length - 1, full + length - 1, 1, ""};
  return true;
}

static char *copy_trimmed(plag_arena *arena, const char *text, size_t length, const char *around) {
  while (length > 0 && strchr(around, *text) != NULL) {
    text++;
    length--;
  }
  while (length > 0 && strchr(around, text[length - 1]) != NULL)
    length--;
  return plag_arena_copy_bytes(arena, text, length);
}

bool plag_column_part(plag_arena *arena, const char *full, const char **name, const char **unit) {
  name_parts parts;
  const bool found =
      !is_known(full, strlen(full)) &&
      (find_bracketed(full, &parts) || find_after_mark(full, &parts) || find_suffix(full, &parts));
  *name = full;
  *unit = "";
  if (!found)
    return true;
  char *unit_text = copy_trimmed(arena, parts.unit, parts.unit_length, " ");
  char *front = copy_trimmed(arena, full, parts.name_length, " _,;:/");
  char *rest = copy_trimmed(arena, parts.rest, strlen(parts.rest), " ");
  if (unit_text == NULL || front == NULL || rest == NULL)
    return false;
  bool named = false;
  for (const char *at = front; *at != '\0'; at++)
    named = named || is_letter(*at) || (unsigned char)*at >= 0x80 || (*at >= '0' && *at <= '9');
  *unit = unit_text;
  if (named)
    *name = rest[0] == '\0' ? front : plag_arena_format(arena, "%s %s", front, rest);
  return *name != NULL;
}

char *plag_column_unit(plag_arena *arena, const char *text) {
  char *unit = copy_trimmed(arena, text, strlen(text), " ()[]{}");
  if (unit != NULL && strspn(unit, "-") == strlen(unit))
    unit[0] = '\0';
  return unit;
}
