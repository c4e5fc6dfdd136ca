/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page of a fleet: who needs a look, why, what next; written valve by valve, so that the logs
 * of one valve at a time are held. */
#include "core/arena.h"
#include "core/error.h"
#include "core/html_page.h"
#include "core/html_text.h"
#include "fleet/html_rest.h"
#include "fleet/html_spread.h"
#include "fleet/notes.h"
#include "fleet/write.h"

static void add_head(plag_html_sheet *sheet) {
  plag_arena arena = {0};
  const char *summary = plag_fleet_summary(sheet->fleet, &arena);
  sheet->out.failed = sheet->out.failed || summary == NULL;
  plag_html_head_begin(&sheet->out, &plag_asset_fleet_policy);
  plag_text_add(&sheet->out, "Runner valve fleet - ");
  plag_html_name_add(&sheet->out, summary != NULL ? summary : "");
  plag_html_head_end(&sheet->out, &plag_asset_fleet_style, &plag_asset_fleet_script);
  plag_html_marks_add(&sheet->out);
  plag_text_add(&sheet->out, "<header><h1>Runner valve fleet</h1>\n<p>");
  plag_html_name_add(&sheet->out, summary != NULL ? summary : "");
  plag_text_add(&sheet->out, ".</p></header>\n<main>\n");
  plag_html_standings_add(sheet);
  plag_arena_clear(&arena);
}

static platelag_status add_valves(plag_html_sheet *sheet, const platelag_sink *sink,
                                  platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < sheet->fleet->valve_count && status == PLATELAG_OK; i++) {
    platelag_fleet_logs *logs = NULL;
    status = platelag_fleet_logs_build(sheet->fleet, i, &logs, error);
    if (status == PLATELAG_OK) {
      plag_html_valve_add(sheet, i, logs);
      status = plag_write_text(&sheet->out, sink, error);
    }
    platelag_fleet_logs_destroy(logs);
  }
  return status;
}

static platelag_status add_ranking(plag_html_sheet *sheet, const platelag_sink *sink,
                                   platelag_error *error) {
  if (sheet->fleet->valve_count == 0) {
    plag_text_add(&sheet->out, "<p>The store holds no judged capture.</p>\n");
    return PLATELAG_OK;
  }
  plag_html_filters_add(sheet);
  plag_text_add_format(&sheet->out,
                       "<div class=\"ranking\"><h2 id=\"who\">Who needs a look, the most urgent "
                       "first</h2><table id=\"ranking\" aria-labelledby=\"who\"%s>\n",
                       sheet->with_engines ? "" : " class=\"bare\"");
  plag_html_ranking_head_add(sheet);
  const platelag_status status = add_valves(sheet, sink, error);
  plag_text_add(&sheet->out, "</table></div>\n");
  return status;
}

static platelag_status add_rest(plag_html_sheet *sheet, platelag_error *error) {
  if (sheet->fleet->valve_count > 0 && !plag_html_spreads_add(sheet))
    return plag_error_memory(error, "the page");
  plag_html_limits_add(sheet);
  plag_html_troubles_add(sheet);
  plag_text_add(&sheet->out, "</main>\n");
  plag_html_notes_add(sheet);
  plag_html_page_data_add(sheet);
  plag_text_add(&sheet->out, "</body>\n</html>\n");
  return PLATELAG_OK;
}

platelag_status platelag_fleet_write_html(const platelag_fleet *fleet,
                                          const platelag_fleet_page *page,
                                          const platelag_sink *sink, platelag_error *error) {
  plag_html_sheet sheet = {.fleet = fleet, .page = page};
  for (size_t i = 0; i < fleet->valve_count; i++)
    sheet.with_engines = sheet.with_engines || fleet->valve[i].engine[0] != '\0';
  add_head(&sheet);
  platelag_status status = add_ranking(&sheet, sink, error);
  if (status == PLATELAG_OK)
    status = add_rest(&sheet, error);
  if (status == PLATELAG_OK)
    status = plag_write_text(&sheet.out, sink, error);
  plag_text_clear(&sheet.out);
  return status;
}
