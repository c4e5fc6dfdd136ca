/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page: what the document says, one article a valve, in a frame that needs nothing from
 * outside. Its policy names the style that the library brings by its hash; nothing else is let in,
 * so that even a text that slipped through unescaped could not run. */
#include "platelag/report.h"

#include "core/error.h"
#include "report/compose.h"
#include "report/html_blocks.h"
#include "report/html_text.h"
#include "report/page/assets.h"

static void add_asset(plag_text *out, const plag_asset *asset) {
  plag_text_add_bytes(out, asset->from, (size_t)(asset->end - asset->from));
}

/* The verdicts, as the title of the page and of its window. */
static void add_title(plag_text *out, const plag_document *cases, size_t count) {
  plag_text_add(out, "Runner valve review");
  for (size_t i = 0; i < count; i++)
    if (cases[i].count > 0) {
      plag_text_add(out, i == 0 ? " - " : ", ");
      plag_html_text_add(out, cases[i].block[0].label);
    }
}

static void add_head(plag_text *out, const plag_document *cases, size_t count) {
  plag_text_add(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<meta http-equiv=\"Content-Security-Policy\" content=\"");
  add_asset(out, &plag_asset_policy);
  plag_text_add(out, "\">\n<meta name=\"referrer\" content=\"no-referrer\">\n"
                     "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                     "<meta name=\"color-scheme\" content=\"light dark\">\n<title>");
  add_title(out, cases, count);
  plag_text_add(out, "</title>\n<style>");
  add_asset(out, &plag_asset_style);
  plag_text_add(out, "</style>\n</head>\n<body>\n<header><h1>Runner valve review</h1></header>\n");
}

static void add_page(plag_text *out, const plag_document *cases, size_t count,
                     const plag_document *reading) {
  add_head(out, cases, count);
  plag_text_add(out, "<main>\n");
  for (size_t i = 0; i < count; i++) {
    plag_text_add_format(out, "<article aria-labelledby=\"valve-%zu\">\n", i);
    plag_html_blocks_add(out, &cases[i], i);
    plag_text_add(out, "</article>\n");
  }
  plag_text_add(out, "<div class=\"reading\">\n");
  plag_html_blocks_add(out, reading, count);
  plag_text_add(out, "</div>\n</main>\n<footer><p>Advice from a recording: it replaces neither the "
                     "service information nor a trained mechanic. Made by platelag ");
  plag_text_add(out, platelag_version());
  plag_text_add(out, ".</p></footer>\n</body>\n</html>\n");
}

platelag_status platelag_report_write_html(const platelag_review *review, const platelag_sink *sink,
                                           platelag_error *error) {
  plag_arena scratch = {0};
  plag_text out = {0};
  plag_document reading = {0};
  plag_document *cases = plag_arena_take_array(&scratch, review->case_count + 1, sizeof *cases);
  bool failed = cases == NULL;
  plag_compose_reading(&reading, review);
  for (size_t i = 0; cases != NULL && i < review->case_count; i++) {
    plag_compose_case(&cases[i], review, i);
    failed = failed || cases[i].failed;
  }
  if (!failed)
    add_page(&out, cases, review->case_count, &reading);
  failed = failed || reading.failed || out.failed;
  const platelag_status status = failed ? plag_error_memory(error, "the page")
                                        : sink->write(sink->context, out.bytes, out.length, error);
  for (size_t i = 0; cases != NULL && i < review->case_count; i++)
    plag_document_clear(&cases[i]);
  plag_document_clear(&reading);
  plag_text_clear(&out);
  plag_arena_clear(&scratch);
  return status;
}
