/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A growing list of notes on how a file was understood. */
#ifndef PLAG_READ_NOTE_LIST_H
#define PLAG_READ_NOTE_LIST_H

#include "core/arena.h"
#include "platelag/capture.h"

/* Start from zero. A failure for want of memory sticks in `failed`; ask once at the end. */
typedef struct plag_note_list {
  platelag_note *note;
  size_t count;
  size_t capacity;
  plag_arena arena; /* of the texts */
  bool failed;
} plag_note_list;

/* Adds a note of count 1 and returns its index; (size_t)-1 without memory. */
size_t plag_note_list_add(plag_note_list *list, int64_t line, int64_t column, const char *format,
                          ...) __attribute__((format(printf, 4, 5)));

/* Says that note `index` (as plag_note_list_add returned it) happened `count` times in all. */
void plag_note_list_set_count(plag_note_list *list, size_t index, size_t count);

void plag_note_list_clear(plag_note_list *list);

#endif
