/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the reader of a report is told about how a trace was lined up. */
#ifndef PLAG_LINE_UP_NOTES_H
#define PLAG_LINE_UP_NOTES_H

#include <stdbool.h>

#include "core/arena.h"
#include "core/text.h"

enum { PLAG_MOST_TRACE_NOTES = 16 };

typedef struct plag_notes {
  plag_arena *arena; /* holds the sentences */
  size_t count;
  const char *text[PLAG_MOST_TRACE_NOTES];
  bool failed; /* memory ran out */
} plag_notes;

/* Adds what `text` holds, in a copy, and resets it. */
void plag_notes_add(plag_notes *notes, plag_text *text);

#endif
