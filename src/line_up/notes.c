/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/notes.h"

#include <assert.h>

void plag_notes_add(plag_notes *notes, plag_text *text) {
  assert(notes->count < PLAG_MOST_TRACE_NOTES);
  char *copy = text->failed ? NULL : plag_arena_copy_bytes(notes->arena, text->bytes, text->length);
  plag_text_reset(text);
  if (copy == NULL)
    notes->failed = true;
  else
    notes->text[notes->count++] = copy;
}
