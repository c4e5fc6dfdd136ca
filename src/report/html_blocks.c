/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/html_blocks.h"

#include <math.h>
#include <string.h>

#include "core/html_page.h"
#include "core/html_text.h"
#include "report/html_plots.h"
#include "report/words.h"

enum { SHORT_CELL = 14 };

typedef struct sheet {
  plag_text *out;
  const plag_document *document;
  const plag_plots *plots;
  size_t plots_count;
  size_t id;
  bool in_finding; /* the box of the verdict is open */
  bool in_parts;   /* the sections have begun */
  bool in_section;
} sheet;

static const char *tone_class(plag_tone tone) {
  static const char *const classes[] = {[PLAG_TONE_PLAIN] = "plain",
                                        [PLAG_TONE_GOOD] = "good",
                                        [PLAG_TONE_BAD] = "bad",
                                        [PLAG_TONE_OPEN] = "open"};
  return classes[tone];
}

/* A mark for the eye, of another shape for each tone; the words say the same. */
static const char *tone_mark(plag_tone tone) {
  static const char *const marks[] = {[PLAG_TONE_PLAIN] = "",
                                      [PLAG_TONE_GOOD] = plag_html_mark_good,
                                      [PLAG_TONE_BAD] = plag_html_mark_bad,
                                      [PLAG_TONE_OPEN] = plag_html_mark_open};
  return marks[tone];
}

static void add(const sheet *page, const char *markup) {
  plag_text_add(page->out, markup);
}

static void add_labelled(const sheet *page, const plag_block *block) {
  if (block->label[0] != '\0') {
    add(page, "<b>");
    plag_html_prose_add(page->out, block->label);
    add(page, ":</b> ");
  }
  plag_html_prose_add(page->out, block->text);
}

static void add_verdict(sheet *page, const plag_block *block) {
  plag_text_add_format(page->out, "<div class=\"finding %s\">\n", tone_class(block->tone));
  page->in_finding = true;
  plag_text_add_format(page->out, "<h2 class=\"verdict %s\" id=\"valve-%zu\">",
                       tone_class(block->tone), page->id);
  add(page, "<svg class=\"mark\" viewBox=\"0 0 24 24\" aria-hidden=\"true\">");
  add(page, tone_mark(block->tone));
  add(page, "</svg><span>");
  plag_html_prose_add(page->out, block->label);
  add(page, "</span> <small>");
  plag_html_prose_add(page->out, block->text);
  add(page, "</small></h2>\n");
}

static void close_section(sheet *page) {
  if (page->in_section)
    add(page, "</section>\n");
  page->in_section = false;
}

/* The box of the verdict, or the sections so far. */
static void close_part(sheet *page) {
  close_section(page);
  if (page->in_finding || page->in_parts)
    add(page, "</div>\n");
  page->in_finding = page->in_parts = false;
}

static void open_section(sheet *page, const char *label) {
  close_section(page);
  if (!page->in_parts) {
    close_part(page);
    add(page, "<div class=\"parts\">\n");
    page->in_parts = true;
  }
  add(page, "<section>\n");
  if (label[0] != '\0') {
    add(page, "<h3>");
    plag_html_prose_add(page->out, label);
    add(page, "</h3>\n");
  }
  page->in_section = true;
}

/* Where the blocks of `kind` that begin at `first` end. */
static size_t end_of(const plag_document *document, size_t first, plag_block_kind kind) {
  size_t end = first;
  while (end < document->count && document->block[end].kind == kind)
    end++;
  return end;
}

/* A list of points, each with what belongs to it. Returns how many blocks it took. */
static size_t add_points(const sheet *page, size_t first) {
  const plag_document *document = page->document;
  size_t at = first;
  add(page, "<ul>\n");
  while (at < document->count && (document->block[at].kind == PLAG_BLOCK_POINT ||
                                  document->block[at].kind == PLAG_BLOCK_MORE)) {
    add(page, "<li>");
    if (document->block[at].kind == PLAG_BLOCK_POINT)
      add_labelled(page, &document->block[at++]);
    const size_t end = end_of(document, at, PLAG_BLOCK_MORE);
    if (end > at)
      add(page, "\n<ul class=\"more\">\n");
    const bool more = end > at;
    for (; at < end; at++) {
      plag_text_add_format(page->out, "<li class=\"%s\">", tone_class(document->block[at].tone));
      add_labelled(page, &document->block[at]);
      add(page, "</li>\n");
    }
    add(page, more ? "</ul></li>\n" : "</li>\n");
  }
  add(page, "</ul>\n");
  return at - first;
}

/* Probabilities as bars. */
static size_t add_shares(const sheet *page, size_t first) {
  const size_t end = end_of(page->document, first, PLAG_BLOCK_SHARE);
  add(page, "<table class=\"shares\">\n");
  for (size_t i = first; i < end; i++) {
    const plag_block *block = &page->document->block[i];
    const double share = block->share > 0 ? fmin(block->share, 1) : 0;
    plag_text_add_format(page->out, "<tr class=\"%s\"><th scope=\"row\">", tone_class(block->tone));
    plag_html_prose_add(page->out, block->label);
    add(page, "</th><td class=\"number\">");
    plag_text number = {0};
    plag_words_add_share(&number, block->share);
    plag_html_text_add(page->out, number.failed ? "" : number.bytes);
    page->out->failed = page->out->failed || number.failed;
    plag_text_clear(&number);
    add(page, "</td><td class=\"bar\"><svg aria-hidden=\"true\" viewBox=\"0 0 100 10\" "
              "preserveAspectRatio=\"none\"><rect class=\"trough\" width=\"100\" height=\"10\"/>"
              "<rect class=\"fill\" height=\"10\" width=\"");
    plag_text_add_number(page->out, 100 * share, 1);
    add(page, "\"/></svg></td></tr>\n");
  }
  add(page, "</table>\n");
  return end - first;
}

static void add_cell(plag_text *out, const plag_block *row, int index, unsigned right,
                     const char *head) {
  const char *text = row->cell[index];
  const bool heads = head[0] != '\0' && text[0] != '\0'; /* an empty head heads nothing */
  plag_text_add(out, heads ? "<th scope=\"" : "<td");
  plag_text_add(out, heads ? head : "");
  plag_text_add(out, heads ? "\"" : "");
  if ((right >> index & 1U) != 0)
    plag_text_add(out, " class=\"number\"");
  else if (strlen(text) <= SHORT_CELL)
    plag_text_add(out, " class=\"short\"");
  plag_text_add(out, ">");
  plag_html_prose_add(out, text);
  plag_text_add(out, heads ? "</th>" : "</td>");
}

static void add_seconds(plag_text *out, const char *name, double seconds) {
  plag_text_add_format(out, " data-%s=\"", name);
  plag_text_add_number(out, seconds, 3);
  plag_text_add(out, "\"");
}

static void add_row(plag_text *out, const plag_block *row, unsigned right, bool is_head) {
  plag_text_add_format(out, "<tr class=\"%s\"", tone_class(row->tone));
  if (row->to_s > row->from_s) {
    add_seconds(out, "at", row->at_s);
    add_seconds(out, "from", row->from_s);
    add_seconds(out, "to", row->to_s);
  }
  plag_text_add(out, ">");
  for (int k = 0; k < row->cell_count; k++)
    add_cell(out, row, k, right, is_head ? "col" : k == 0 ? "row" : "");
  plag_text_add(out, "</tr>\n");
}

size_t plag_html_table_add(plag_text *out, const plag_document *document, size_t first) {
  const plag_block *head = &document->block[first];
  const size_t end = end_of(document, first + 1, PLAG_BLOCK_ROW);
  if (end == first + 1)
    return 1;
  plag_text_add(out, "<table>\n");
  if (head->cell_count > 0) {
    plag_text_add(out, "<thead>");
    add_row(out, head, head->right, true);
    plag_text_add(out, "</thead>\n");
  }
  plag_text_add(out, "<tbody>\n");
  for (size_t i = first + 1; i < end; i++)
    add_row(out, &document->block[i], head->right, false);
  plag_text_add(out, "</tbody></table>\n");
  return end - first;
}

/* A table with the section that its heading begins. */
static size_t add_table(sheet *page, size_t first) {
  if (page->document->block[first].label[0] != '\0')
    open_section(page, page->document->block[first].label);
  add(page, "<div class=\"table\" tabindex=\"0\">");
  const size_t count = plag_html_table_add(page->out, page->document, first);
  add(page, "</div>\n");
  return count;
}

/* Adds the block at `at` and those that go with it. Returns how many. */
static size_t add_block(sheet *page, size_t at) {
  const plag_block *block = &page->document->block[at];
  switch (block->kind) {
  case PLAG_BLOCK_VERDICT:
    add_verdict(page, block);
    return 1;
  case PLAG_BLOCK_HEADING:
    open_section(page, block->label);
    return 1;
  case PLAG_BLOCK_PARAGRAPH:
    add(page, "<p>");
    plag_html_prose_add(page->out, block->text);
    add(page, "</p>\n");
    return 1;
  case PLAG_BLOCK_POINT:
  case PLAG_BLOCK_MORE:
    return add_points(page, at);
  case PLAG_BLOCK_SHARE:
    return add_shares(page, at);
  case PLAG_BLOCK_TABLE:
  case PLAG_BLOCK_ROW:
    return add_table(page, at);
  case PLAG_BLOCK_PICTURES:
    close_part(page);
    plag_html_plots_add(page->out, page->plots, page->plots_count, page->id);
    return 1;
  }
  return 1;
}

void plag_html_blocks_add(plag_text *out, const plag_document *document, const plag_plots *plots,
                          size_t plots_count, size_t id) {
  sheet page = {
      .out = out, .document = document, .plots = plots, .plots_count = plots_count, .id = id};
  for (size_t at = 0; at < document->count;)
    at += add_block(&page, at);
  close_part(&page);
}
