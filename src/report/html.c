/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page: what the document says, one article a valve. */
#include "platelag/report.h"

#include "core/error.h"
#include "core/html_page.h"
#include "core/html_text.h"
#include "report/compose.h"
#include "report/html_blocks.h"
#include "report/html_data.h"
#include "report/html_plots.h"

/* What is said and drawn of one valve. */
typedef struct chapter {
  plag_document document;
  plag_plots *plots; /* of each capture of the valve */
  size_t plots_count;
} chapter;

typedef struct book {
  chapter *chapter;
  size_t count;
  plag_document reading;
} book;

static const platelag_review_valve *valve_of(const platelag_review_capture *capture,
                                             size_t case_index) {
  for (size_t i = 0; i < capture->valve_count; i++)
    if (capture->valve[i].case_index == case_index)
      return &capture->valve[i];
  return NULL;
}

static void draw_chapter(chapter *one, const platelag_review *review, size_t case_index) {
  plag_document *document = &one->document;
  one->plots = plag_arena_take_array(&document->arena, review->capture_count, sizeof *one->plots);
  document->failed = document->failed || one->plots == NULL;
  size_t count = 0;
  for (size_t i = 0; i < review->capture_count; i++)
    count += valve_of(&review->capture[i], case_index) != NULL;
  for (size_t i = 0; one->plots != NULL && i < review->capture_count; i++) {
    const platelag_review_valve *valve = valve_of(&review->capture[i], case_index);
    if (valve == NULL)
      continue;
    if (count > 1)
      plag_compose_say_title(document, review, i);
    plag_plots_build(document, valve, plag_document_take(document),
                     &one->plots[one->plots_count++]);
  }
  plag_plots_share_axes(one->plots, one->plots_count);
}

/* False without memory; to be cleared either way. */
static bool write_book(book *all, const platelag_review *review, plag_arena *arena) {
  all->chapter = plag_arena_take_array(arena, review->case_count + 1, sizeof *all->chapter);
  if (all->chapter == NULL)
    return false;
  bool failed = false;
  for (; all->count < review->case_count; all->count++) {
    chapter *one = &all->chapter[all->count];
    plag_compose_case(&one->document, review, all->count);
    draw_chapter(one, review, all->count);
    failed = failed || one->document.failed;
  }
  plag_compose_reading(&all->reading, review);
  return !failed && !all->reading.failed;
}

static void clear_book(book *all) {
  for (size_t i = 0; i < all->count; i++) {
    for (size_t k = 0; k < all->chapter[i].plots_count; k++)
      plag_plots_clear(&all->chapter[i].plots[k]);
    plag_document_clear(&all->chapter[i].document);
  }
  plag_document_clear(&all->reading);
}

static bool has_script(void) {
  return plag_asset_script.end > plag_asset_script.from;
}

/* The plots' numbers and the script that draws them; nothing in a build without. */
static void add_script(plag_text *out, const book *all) {
  if (!has_script())
    return;
  plag_text_add(out, "<script type=\"application/json\" id=\"plot-data\">[");
  bool any = false;
  for (size_t i = 0; i < all->count; i++)
    for (size_t k = 0; k < all->chapter[i].plots_count; k++) {
      const size_t before = out->length;
      plag_text_add(out, any ? "," : "");
      if (plag_html_data_add(out, &all->chapter[i].plots[k], i, k))
        any = true;
      else if (!out->failed)
        out->length = before;
    }
  plag_text_add(out, "]</script>\n<script>");
  plag_html_asset_add(out, &plag_asset_script);
  plag_text_add(out, "</script>\n");
}

/* The verdicts, as the title of the window. */
static void add_title(plag_text *out, const book *all) {
  plag_text_add(out, "Runner valve review");
  for (size_t i = 0; i < all->count; i++) {
    plag_text_add(out, i == 0 ? " - " : ", ");
    plag_html_text_add(out, all->chapter[i].document.block[0].label);
  }
}

static void add_head(plag_text *out, const book *all) {
  plag_html_head_begin(out, &plag_asset_policy);
  add_title(out, all);
  plag_html_head_end(out, &plag_asset_style, NULL);
}

static void add_page(plag_text *out, const book *all) {
  add_head(out, all);
  plag_html_plots_add_patterns(out);
  plag_text_add(out, "<header><h1>Runner valve review</h1></header>\n<main>\n");
  for (size_t i = 0; i < all->count; i++) {
    const chapter *one = &all->chapter[i];
    plag_text_add_format(out, "<article aria-labelledby=\"valve-%zu\">\n", i);
    plag_html_blocks_add(out, &one->document, one->plots, one->plots_count, i);
    plag_text_add(out, "</article>\n");
  }
  plag_text_add(out, "<div class=\"reading\">\n");
  plag_html_blocks_add(out, &all->reading, NULL, 0, all->count);
  plag_text_add(out, "</div>\n</main>\n<footer><p>Advice from a recording: it replaces neither the "
                     "service information nor a trained mechanic. Made by platelag ");
  plag_text_add(out, platelag_version());
  plag_text_add(out, ".</p></footer>\n");
  add_script(out, all);
  plag_text_add(out, "</body>\n</html>\n");
}

platelag_status platelag_report_write_html(const platelag_review *review, const platelag_sink *sink,
                                           platelag_error *error) {
  plag_arena arena = {0};
  plag_text out = {0};
  book all = {0};
  const bool written = write_book(&all, review, &arena);
  if (written)
    add_page(&out, &all);
  const platelag_status status = written && !out.failed
                                     ? sink->write(sink->context, out.bytes, out.length, error)
                                     : plag_error_memory(error, "the page");
  clear_book(&all);
  plag_text_clear(&out);
  plag_arena_clear(&arena);
  return status;
}
