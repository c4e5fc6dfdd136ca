/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A pattern of paths that tells whose a capture is: "{vehicle}/{date}_{condition}.csv". It is held
 * against the end of a path, folder by folder. */
#ifndef PLAG_FLEET_PATTERN_H
#define PLAG_FLEET_PATTERN_H

#include <stdbool.h>
#include <stddef.h>

#include "platelag/trace.h"

enum { PLAG_PATTERN_PIECES = 32 };

typedef enum plag_piece_kind {
  PLAG_PIECE_TEXT,
  PLAG_PIECE_ANY, /* {} */
  PLAG_PIECE_VEHICLE,
  PLAG_PIECE_ENGINE,
  PLAG_PIECE_DATE,
  PLAG_PIECE_CONDITION
} plag_piece_kind;

typedef struct plag_pattern {
  struct {
    plag_piece_kind kind;
    const char *text; /* of TEXT, lent by the pattern's text */
    size_t length;
  } piece[PLAG_PATTERN_PIECES];
  size_t count;
  size_t folders; /* slashes in it */
} plag_pattern;

/* What a path held; places in the path, lengths 0 where the pattern has no such word. */
typedef struct plag_pattern_match {
  const char *vehicle, *engine;
  size_t vehicle_length, engine_length;
  bool dated;
  int64_t at_unix_s;
  platelag_condition condition;
} plag_pattern_match;

/* Reads a pattern; `text` must outlive it. An unknown word in braces, a brace left open and a word
 * used twice are refused. */
platelag_status plag_pattern_read(const char *text, plag_pattern *out, platelag_error *error);

/* Whether the path fits; a word never spans a slash, each holds as little as it can. */
bool plag_pattern_match_path(const plag_pattern *pattern, const char *path,
                             plag_pattern_match *out);

#endif
