/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/pattern.h"

#include <string.h>

#include "core/error.h"
#include "fleet/calendar.h"
#include "fleet/conditions.h"

static const char *const words[] = {[PLAG_PIECE_ANY] = "",
                                    [PLAG_PIECE_VEHICLE] = "vehicle",
                                    [PLAG_PIECE_ENGINE] = "engine",
                                    [PLAG_PIECE_DATE] = "date",
                                    [PLAG_PIECE_CONDITION] = "condition"};
enum { WORDS = sizeof words / sizeof words[0] };

static platelag_status refuse(const char *text, const char *why, platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                        "pattern \"%s\": %s; expected {vehicle}, {engine}, {date}, {condition} "
                        "once each, {} for anything, and plain text",
                        text, why);
}

static platelag_status add_piece(plag_pattern *pattern, plag_piece_kind kind, const char *text,
                                 size_t length, const char *whole, platelag_error *error) {
  if (pattern->count == PLAG_PATTERN_PIECES)
    return refuse(whole, "it has too many parts", error);
  for (size_t i = 0; i < pattern->count; i++)
    if (kind != PLAG_PIECE_TEXT && kind != PLAG_PIECE_ANY && pattern->piece[i].kind == kind)
      return refuse(whole, "a word stands in it twice", error);
  pattern->piece[pattern->count].kind = kind;
  pattern->piece[pattern->count].text = text;
  pattern->piece[pattern->count++].length = length;
  return PLATELAG_OK;
}

/* The word between two braces. */
static platelag_status add_word(plag_pattern *pattern, const char *word, size_t length,
                                const char *whole, platelag_error *error) {
  for (int i = PLAG_PIECE_ANY; i < WORDS; i++)
    if (strlen(words[i]) == length && memcmp(words[i], word, length) == 0)
      return add_piece(pattern, (plag_piece_kind)i, word, length, whole, error);
  return refuse(whole, "it holds an unknown word", error);
}

platelag_status plag_pattern_read(const char *text, plag_pattern *out, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  *out = (plag_pattern){0};
  for (const char *at = text; *at != '\0' && status == PLATELAG_OK;) {
    if (*at == '{') {
      const char *end = strchr(at, '}');
      if (end == NULL)
        return refuse(text, "a brace is not closed", error);
      status = add_word(out, at + 1, (size_t)(end - at) - 1, text, error);
      at = end + 1;
    } else {
      const size_t length = strcspn(at, "{");
      status = add_piece(out, PLAG_PIECE_TEXT, at, length, text, error);
      at += length;
    }
  }
  for (const char *at = text; *at != '\0'; at++)
    out->folders += *at == '/';
  if (status == PLATELAG_OK && out->count == 0)
    status = refuse(text, "it is empty", error);
  return status;
}

/* "." and ".." are where a path goes, and nobody's name. */
static bool is_name(const char *text, size_t length) {
  return length > 0 && !(text[0] == '.' && (length == 1 || (length == 2 && text[1] == '.')));
}

/* What a word took must make sense, else it takes more. */
static bool take_word(plag_piece_kind kind, const char *text, size_t length,
                      plag_pattern_match *out) {
  switch (kind) {
  case PLAG_PIECE_VEHICLE:
    out->vehicle = text;
    out->vehicle_length = length;
    return is_name(text, length);
  case PLAG_PIECE_ENGINE:
    out->engine = text;
    out->engine_length = length;
    return is_name(text, length);
  case PLAG_PIECE_DATE:
    out->dated = plag_date_read(text, length, &out->at_unix_s);
    return out->dated;
  case PLAG_PIECE_CONDITION:
    return length > 0 && plag_condition_read(text, length, &out->condition);
  default:
    return true;
  }
}

/* A path too long is no match. */
enum { LONGEST_TAIL = 1024 };

/* Which places were tried in vain, so that a pattern of many words cannot take for ever. */
typedef struct attempts {
  const char *tail;
  bool in_vain[PLAG_PATTERN_PIECES + 1][LONGEST_TAIL + 1];
} attempts;

/* Tries the pieces from `index` on at `at`. */
static bool match_from(const plag_pattern *pattern, size_t index, const char *at, attempts *tried,
                       plag_pattern_match *out) {
  if (index == pattern->count)
    return *at == '\0';
  const plag_piece_kind kind = pattern->piece[index].kind;
  const size_t length = pattern->piece[index].length;
  bool *in_vain = &tried->in_vain[index][at - tried->tail];
  if (*in_vain)
    return false;
  if (kind == PLAG_PIECE_TEXT && strncmp(at, pattern->piece[index].text, length) == 0 &&
      match_from(pattern, index + 1, at + length, tried, out))
    return true;
  for (size_t take = 0; kind != PLAG_PIECE_TEXT; take++) {
    if (take_word(kind, at, take, out) && match_from(pattern, index + 1, at + take, tried, out))
      return true;
    if (at[take] == '\0' || at[take] == '/')
      break;
  }
  *in_vain = true;
  return false;
}

/* The last folders of the path that the pattern speaks of, and its file. */
static const char *tail_of(const char *path, size_t folders) {
  const char *at = path + strlen(path);
  size_t slashes = 0;
  while (at > path) {
    if (at[-1] == '/' && slashes++ == folders)
      break;
    at--;
  }
  return at;
}

bool plag_pattern_match_path(const plag_pattern *pattern, const char *path,
                             plag_pattern_match *out) {
  *out = (plag_pattern_match){.condition = PLATELAG_CONDITION_ROAD};
  attempts tried = {.tail = tail_of(path, pattern->folders)};
  return strlen(tried.tail) <= LONGEST_TAIL && match_from(pattern, 0, tried.tail, &tried, out);
}
