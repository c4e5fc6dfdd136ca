/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/document.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "core/array.h"
#include "core/escape.h"

void plag_document_say(plag_document *document, const char *text) {
  plag_text_add(&document->draft, text);
}

void plag_document_say_number(plag_document *document, double value, int decimals) {
  plag_text_add_number(&document->draft, value, decimals);
}

static int decimals_for(double value) {
  const double size = fabs(value);
  if (size >= 99.95 || size == floor(size))
    return 0;
  if (size >= 9.995)
    return 1;
  return size >= 0.9995 ? 2 : 3;
}

void plag_document_say_figure(plag_document *document, double value) {
  const int decimals = isfinite(value) ? decimals_for(value) : 0;
  plag_text *draft = &document->draft;
  plag_text_add_number(draft, value, decimals);
  if (decimals == 0 || draft->failed)
    return;
  while (draft->bytes[draft->length - 1] == '0')
    draft->length--;
  if (draft->bytes[draft->length - 1] == '.')
    draft->length--;
  draft->bytes[draft->length] = '\0';
}

void plag_document_say_count(plag_document *document, size_t count, const char *word) {
  plag_text_add_format(&document->draft, "%zu %s%s", count, word, count == 1 ? "" : "s");
}

static const char *keep(plag_document *document, const char *text) {
  plag_text_reset(&document->clean);
  plag_escape_add(&document->clean, text);
  const char *kept = document->clean.failed
                         ? NULL
                         : plag_arena_copy_bytes(&document->arena,
                                                 document->clean.bytes ? document->clean.bytes : "",
                                                 document->clean.length);
  if (kept == NULL)
    document->failed = true;
  return kept != NULL ? kept : "";
}

const char *plag_document_take(plag_document *document) {
  document->failed = document->failed || document->draft.failed;
  const char *taken =
      keep(document, document->draft.length > 0 && !document->failed ? document->draft.bytes : "");
  plag_text_reset(&document->draft);
  return taken;
}

plag_block *plag_document_add(plag_document *document, plag_block_kind kind, plag_tone tone,
                              const char *label, const char *text) {
  if (!plag_array_reserve((void **)&document->block, &document->capacity, document->count + 1,
                          sizeof *document->block)) {
    document->failed = true;
    return NULL;
  }
  plag_block *block = &document->block[document->count++];
  *block = (plag_block){
      .kind = kind, .tone = tone, .label = keep(document, label), .text = keep(document, text)};
  return block;
}

void plag_document_head(plag_document *document, const char *label) {
  (void)plag_document_add(document, PLAG_BLOCK_HEADING, PLAG_TONE_PLAIN, label, "");
}

void plag_document_add_taken(plag_document *document, plag_block_kind kind, const char *label) {
  const char *text = plag_document_take(document);
  (void)plag_document_add(document, kind, PLAG_TONE_PLAIN, label, text);
}

void plag_document_cell(plag_document *document, const char *text) {
  if (document->failed)
    return;
  assert(document->count > 0);
  plag_block *block = &document->block[document->count - 1];
  assert(block->kind == PLAG_BLOCK_TABLE || block->kind == PLAG_BLOCK_ROW);
  assert(block->cell_count < PLAG_TABLE_CELLS);
  block->cell[block->cell_count++] = keep(document, text);
}

void plag_document_cell_taken(plag_document *document) {
  const char *taken = plag_document_take(document);
  plag_document_cell(document, taken);
}

void plag_document_clear(plag_document *document) {
  free(document->block);
  plag_arena_clear(&document->arena);
  plag_text_clear(&document->draft);
  plag_text_clear(&document->clean);
  *document = (plag_document){0};
}
