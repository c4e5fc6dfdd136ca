/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet of text for a person at a terminal: sentences in lines, heads in colour. */
#ifndef PLAG_CORE_SHEET_H
#define PLAG_CORE_SHEET_H

#include "core/arena.h"
#include "core/text.h"

typedef struct plag_sheet {
  plag_text out;
  size_t width; /* of a line */
  bool color;
  plag_arena arena; /* of the sentence that is being written */
} plag_sheet;

/* Adds a sentence, made harmless and wrapped, its first line indented by `indent` blanks, the
 * others by `hang`; then forgets what the arena holds. NULL (memory ran out where it was made)
 * fails the text. */
void plag_sheet_say(plag_sheet *sheet, size_t indent, size_t hang, const char *sentence);

/* Adds a text, made harmless, between a terminal's code and its end where there is colour. */
void plag_sheet_emphasise(plag_sheet *sheet, const char *code, const char *text);

/* Gives the memory back. */
void plag_sheet_clear(plag_sheet *sheet);

#endif
