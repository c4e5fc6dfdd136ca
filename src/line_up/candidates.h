/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Candidates for one role, scored by name and behaviour. */
#ifndef PLAG_LINE_UP_CANDIDATES_H
#define PLAG_LINE_UP_CANDIDATES_H

#include "line_up/recording.h"

typedef struct plag_candidate {
  const platelag_channel *channel;
  double score;
  bool varies; /* within the run */
} plag_candidate;

enum { PLAG_MOST_CANDIDATES = 16 };

typedef struct plag_candidates {
  size_t count; /* the best PLAG_MOST_CANDIDATES by score, best first */
  plag_candidate candidate[PLAG_MOST_CANDIDATES];
} plag_candidates;

/* Channels that may have `role` and hold samples in this run. Where `named` is not NULL, only the
 * column of that name (or what the reader took for it). Where `bank` is not negative only those of
 * that bank. `follower` (may be NULL) raises what it follows. */
plag_candidates plag_candidates_find(const plag_recording *recording, platelag_role role,
                                     const char *named, int bank, const platelag_channel *follower);

/* Whether the two best are so alike that guessing would be a gamble. Columns with the very same
 * samples are one. */
bool plag_candidates_ambiguous(const plag_candidates *candidates);

/* Refuses: no column, or two equally good ones for "position" or "command" (`word`). */
platelag_status plag_candidates_refuse_none(const plag_recording *recording, const char *word,
                                            platelag_error *error);
platelag_status plag_candidates_refuse_ambiguous(const plag_recording *recording,
                                                 const plag_candidates *candidates,
                                                 const char *word, platelag_error *error);

#endif
