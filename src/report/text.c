/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/escape.h"
#include "core/wrap.h"
#include "report/words.h"

enum {
  DEFAULT_WIDTH = 100,
  LEAST_WIDTH = 40,
  INDENT = 2,
  GAP = 2, /* between the columns of a table */
  LEAST_COLUMN = 8,
  BAR = 20
};

#define RESET_COLOR "\033[0m"

typedef struct sheet {
  const plag_document *document;
  size_t width;
  bool color;
  plag_text out;
} sheet;

/* Colours of the terminal's own palette, readable on light and dark. */
static const char *emphasis(const sheet *page, plag_tone tone) {
  static const char *const codes[] = {[PLAG_TONE_PLAIN] = "\033[1m",
                                      [PLAG_TONE_GOOD] = "\033[1;32m",
                                      [PLAG_TONE_BAD] = "\033[1;31m",
                                      [PLAG_TONE_OPEN] = "\033[1;33m"};
  return page->color ? codes[tone] : "";
}

static void add_emphasised(sheet *page, plag_tone tone, const char *text) {
  plag_text_add(&page->out, emphasis(page, tone));
  plag_text_add(&page->out, text);
  if (page->color)
    plag_text_add(&page->out, RESET_COLOR);
}

static size_t width_of(const char *text) {
  return plag_utf8_width(text, strlen(text));
}

static void add_verdict(sheet *page, const plag_block *block) {
  add_emphasised(page, block->tone, block->label);
  if (block->text[0] == '\0') {
    plag_text_add_char(&page->out, '\n');
    return;
  }
  plag_text_add(&page->out, "  ");
  plag_wrap_add(&page->out, block->text, page->width, width_of(block->label) + 2, INDENT);
}

/* "mark label: text", the following lines below the text's first word. */
static void add_item(sheet *page, const plag_block *block, const char *mark, size_t indent) {
  plag_wrap_add_blanks(&page->out, indent);
  plag_text_add(&page->out, mark);
  size_t column = indent + strlen(mark);
  const size_t hang = column;
  if (block->label[0] != '\0') {
    plag_text_add(&page->out, block->label);
    plag_text_add(&page->out, ": ");
    column += width_of(block->label) + 2;
  }
  plag_wrap_add(&page->out, block->text, page->width, column, hang);
}

/* All shares that follow one another, so that their bars begin in one column. Returns how many. */
static size_t add_shares(sheet *page, size_t first) {
  const plag_document *document = page->document;
  size_t end = first, widest = 0;
  for (; end < document->count && document->block[end].kind == PLAG_BLOCK_SHARE; end++)
    widest = width_of(document->block[end].label) > widest ? width_of(document->block[end].label)
                                                           : widest;
  plag_text number = {0};
  for (size_t i = first; i < end; i++) {
    const plag_block *block = &document->block[i];
    plag_wrap_add_blanks(&page->out, INDENT);
    plag_text_add(&page->out, block->label);
    plag_wrap_add_blanks(&page->out, widest - width_of(block->label) + GAP);
    plag_text_reset(&number);
    plag_words_add_share(&number, block->share);
    page->out.failed = page->out.failed || number.failed;
    const char *text = number.failed ? "" : number.bytes;
    plag_wrap_add_blanks(&page->out, strlen(text) < 5 ? 5 - strlen(text) : 0);
    plag_text_add(&page->out, text);
    plag_text_add(&page->out, "  ");
    const double share = block->share > 0 ? fmin(block->share, 1) : 0;
    const size_t full = (size_t)lround(BAR * share);
    plag_text_add(&page->out, full > 0 ? emphasis(page, block->tone) : "");
    for (size_t k = 0; k < full; k++)
      plag_text_add_char(&page->out, '#');
    if (full > 0 && page->color)
      plag_text_add(&page->out, RESET_COLOR);
    for (size_t k = full; k < BAR; k++)
      plag_text_add_char(&page->out, '.');
    plag_text_add_char(&page->out, '\n');
  }
  plag_text_clear(&number);
  return end - first;
}

/* Each column as wide as its widest cell; while they do not fit, the widest gives way. */
static void fit_columns(const sheet *page, size_t first, size_t end, size_t *column) {
  int count = 0;
  for (size_t i = first; i < end; i++) {
    const plag_block *row = &page->document->block[i];
    count = row->cell_count > count ? row->cell_count : count;
    for (int k = 0; k < row->cell_count; k++)
      if (width_of(row->cell[k]) > column[k])
        column[k] = width_of(row->cell[k]);
  }
  for (;;) {
    size_t sum = INDENT;
    int widest = 0;
    for (int k = 0; k < count; k++) {
      sum += column[k] + (k > 0 ? GAP : 0);
      if (column[k] > column[widest])
        widest = k;
    }
    if (sum <= page->width || column[widest] <= LEAST_COLUMN)
      return;
    column[widest]--;
  }
}

/* One line of one cell, padded to its column; nothing is padded at the end of the line. */
static void add_cell(sheet *page, const char *text, size_t length, size_t column, bool right,
                     bool last) {
  const size_t width = plag_utf8_width(text, length);
  const size_t pad = column > width ? column - width : 0;
  plag_wrap_add_blanks(&page->out, right ? pad : 0);
  plag_text_add_bytes(&page->out, text, length);
  plag_wrap_add_blanks(&page->out, right || last ? 0 : pad);
}

static void trim_line(plag_text *out) {
  while (out->length > 0 && out->bytes[out->length - 1] == ' ')
    out->bytes[--out->length] = '\0';
}

static void add_row(sheet *page, const plag_block *row, const size_t *column, unsigned right) {
  const char *rest[PLAG_TABLE_CELLS] = {0};
  for (int k = 0; k < row->cell_count; k++)
    rest[k] = row->cell[k];
  for (bool more = true, first = true; more || first; first = false) {
    more = false;
    plag_wrap_add_blanks(&page->out, INDENT);
    for (int k = 0; k < row->cell_count; k++) {
      const char *line = "";
      size_t length = 0;
      (void)plag_wrap_next(&rest[k], column[k], &line, &length);
      if (k > 0)
        plag_wrap_add_blanks(&page->out, GAP);
      add_cell(page, line, length, column[k], (right >> k & 1U) != 0, k + 1 == row->cell_count);
      more = more || rest[k][strspn(rest[k], " ")] != '\0';
    }
    trim_line(&page->out);
    plag_text_add_char(&page->out, '\n');
  }
}

/* A blank line sets off what follows, but for the first of the page. */
static void add_gap(sheet *page) {
  if (page->out.length > 0)
    plag_text_add_char(&page->out, '\n');
}

static void add_heading(sheet *page, const char *label) {
  add_gap(page);
  add_emphasised(page, PLAG_TONE_PLAIN, label);
  plag_text_add_char(&page->out, '\n');
}

/* The heading of a table and the head of its columns, in one line where the first column, which
 * then has no head of its own, leaves room. */
static void add_head(sheet *page, const plag_block *head, const size_t *column) {
  const size_t width = width_of(head->label);
  const bool joined =
      width > 0 && head->cell_count > 0 && width <= INDENT + column[0] && head->cell[0][0] == '\0';
  if (!joined) {
    if (width > 0)
      add_heading(page, head->label);
    if (head->cell_count > 0)
      add_row(page, head, column, head->right);
    return;
  }
  add_gap(page);
  add_emphasised(page, PLAG_TONE_PLAIN, head->label);
  plag_wrap_add_blanks(&page->out, INDENT + column[0] - width);
  for (int k = 1; k < head->cell_count; k++) {
    plag_wrap_add_blanks(&page->out, GAP);
    add_cell(page, head->cell[k], strlen(head->cell[k]), column[k], (head->right >> k & 1U) != 0,
             k + 1 == head->cell_count);
  }
  trim_line(&page->out);
  plag_text_add_char(&page->out, '\n');
}

/* A table from its head at `first`. Returns how many blocks it has. */
static size_t add_table(sheet *page, size_t first) {
  const plag_document *document = page->document;
  size_t end = first + 1;
  while (end < document->count && document->block[end].kind == PLAG_BLOCK_ROW)
    end++;
  size_t column[PLAG_TABLE_CELLS] = {0};
  fit_columns(page, first, end, column);
  add_head(page, &document->block[first], column);
  for (size_t i = first + 1; i < end; i++) {
    const plag_block *row = &document->block[i];
    plag_text_add(&page->out, row->tone != PLAG_TONE_PLAIN ? emphasis(page, row->tone) : "");
    add_row(page, row, column, document->block[first].right);
    if (row->tone != PLAG_TONE_PLAIN && page->color)
      plag_text_add(&page->out, RESET_COLOR);
  }
  return end - first;
}

/* Adds the block at `at` and those that go with it. Returns how many. */
static size_t add_block(sheet *page, size_t at) {
  const plag_block *block = &page->document->block[at];
  switch (block->kind) {
  case PLAG_BLOCK_VERDICT:
    add_gap(page);
    add_verdict(page, block);
    return 1;
  case PLAG_BLOCK_HEADING:
    add_heading(page, block->label);
    return 1;
  case PLAG_BLOCK_PARAGRAPH:
    plag_wrap_add_blanks(&page->out, INDENT);
    plag_wrap_add(&page->out, block->text, page->width, INDENT, INDENT);
    return 1;
  case PLAG_BLOCK_POINT:
    add_item(page, block, "- ", INDENT);
    return 1;
  case PLAG_BLOCK_MORE:
    add_item(page, block, "", INDENT + 2);
    return 1;
  case PLAG_BLOCK_SHARE:
    return add_shares(page, at);
  case PLAG_BLOCK_TABLE:
  case PLAG_BLOCK_ROW:
    return add_table(page, at);
  case PLAG_BLOCK_PICTURES:
    return 1;
  }
  return 1;
}

platelag_status plag_text_report_finish(plag_document *document,
                                        const platelag_report_options *options,
                                        const platelag_sink *sink, platelag_error *error) {
  const int wanted = options != NULL && options->width > 0 ? options->width : DEFAULT_WIDTH;
  sheet page = {.document = document,
                .width = (size_t)(wanted < LEAST_WIDTH ? LEAST_WIDTH : wanted),
                .color = options != NULL && options->color};
  for (size_t at = 0; at < document->count;)
    at += add_block(&page, at);
  platelag_status status = PLATELAG_OK;
  if (document->failed || document->draft.failed || page.out.failed)
    status = plag_error_memory(error, "the report");
  else if (page.out.length > 0)
    status = sink->write(sink->context, page.out.bytes, page.out.length, error);
  plag_text_clear(&page.out);
  plag_document_clear(document);
  return status;
}
