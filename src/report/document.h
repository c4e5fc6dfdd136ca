/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A report as a list of blocks: what is said, in order, before any format decides how it looks.
 * Every text in it is free of control characters. */
#ifndef PLAG_REPORT_DOCUMENT_H
#define PLAG_REPORT_DOCUMENT_H

#include <stdbool.h>
#include <stddef.h>

#include "core/arena.h"
#include "core/text.h"

typedef enum plag_block_kind {
  PLAG_BLOCK_VERDICT,   /* label: what is found, in a word or two; text: how sure */
  PLAG_BLOCK_HEADING,   /* label */
  PLAG_BLOCK_PARAGRAPH, /* text */
  PLAG_BLOCK_POINT,     /* label, or "": one of a list; text */
  PLAG_BLOCK_MORE,      /* label, or ""; text: belongs to the point above */
  PLAG_BLOCK_SHARE,     /* label, share of 1 */
  PLAG_BLOCK_TABLE,     /* begins a table; label: its heading, over the first column; its cells are
                           the head of the columns; none at all: no head */
  PLAG_BLOCK_ROW,       /* a row of the table above */
  PLAG_BLOCK_PICTURES   /* plots stand here, in a format that has any */
} plag_block_kind;

/* For emphasis only: the words say the same. */
typedef enum plag_tone { PLAG_TONE_PLAIN, PLAG_TONE_GOOD, PLAG_TONE_BAD, PLAG_TONE_OPEN } plag_tone;

enum { PLAG_TABLE_CELLS = 8 };

typedef struct plag_block {
  plag_block_kind kind;
  plag_tone tone;
  const char *label;
  const char *text;
  double share;
  const char *cell[PLAG_TABLE_CELLS]; /* never NULL below cell_count */
  int cell_count;
  double at_s, from_s, to_s; /* of a ROW that tells of a moment: it, and what is to be looked at
                                around it; all 0 for none */
  unsigned right;            /* of a TABLE: bit i set: column i is numbers, set to the right */
} plag_block;

typedef struct plag_document {
  plag_block *block;
  size_t count;
  size_t capacity;
  plag_arena arena;
  plag_text draft; /* the sentence that is being written */
  plag_text clean; /* scratch */
  bool failed;     /* memory ran out: write on and ask once at the end */
} plag_document;

/* Sentences are drafted piece by piece, then taken. */
void plag_document_say(plag_document *document, const char *text);
void plag_document_say_number(plag_document *document, double value, int decimals);
/* With three significant digits, without zeros at the end. */
void plag_document_say_figure(plag_document *document, double value);
/* A number of things, "3 openings": the plural is the word with an s. */
void plag_document_say_count(plag_document *document, size_t count, const char *word);

/* What was drafted, made harmless; the draft is empty again. Lent by the document, never NULL. */
const char *plag_document_take(plag_document *document);

/* Adds a block. `label` and `text` are copied and made harmless. The block is lent until the next
 * is added; NULL without memory. */
plag_block *plag_document_add(plag_document *document, plag_block_kind kind, plag_tone tone,
                              const char *label, const char *text);

/* Adds a heading; a block of what was drafted. */
void plag_document_head(plag_document *document, const char *label);
void plag_document_add_taken(plag_document *document, plag_block_kind kind, const char *label);

/* Adds a cell to the last block, a TABLE or a ROW: `text`, or what was drafted. */
void plag_document_cell(plag_document *document, const char *text);
void plag_document_cell_taken(plag_document *document);

void plag_document_clear(plag_document *document);

#endif
