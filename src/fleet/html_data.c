/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures for the page's script, in elements that no browser runs. Short keys, for there are many.
 */
#include <string.h>

#include "core/number.h"
#include "fleet/html_command.h"
#include "fleet/html_valve.h"
#include "fleet/write.h"

#define DATA_BEGIN "<script type=\"application/json\""

/* Four digits are finer than any plot. */
static void add_first(plag_text *out, double value) {
  char number[PLAG_NUMBER_TEXT_BYTES];
  plag_text_add(out, plag_number_format_json(value, 4, number));
}

static void add_number(plag_text *out, double value) {
  plag_text_add_char(out, ',');
  add_first(out, value);
}

static void add_second(plag_text *out, bool known, int64_t unix_s) {
  if (known && unix_s != INT64_MAX)
    plag_text_add_format(out, ",%lld", (long long)unix_s);
  else
    plag_text_add(out, ",null");
}

/* [usual, slope a year, low, high, p, level of the line at the last log; where there is a limit:
 * it, learned; where the line meets it: when, earliest, latest]; 0 where no log shows the figure.
 */
static void add_trend(plag_text *out, const plag_page *page, size_t figure) {
  const platelag_fleet_trend *trend = &page->valve->trend[figure];
  if (trend->logs == 0) {
    plag_text_add_char(out, '0');
    return;
  }
  plag_text_add_char(out, '[');
  add_first(out, trend->usual);
  add_number(out, trend->slope_a_year);
  add_number(out, trend->slope_low);
  add_number(out, trend->slope_high);
  add_number(out, trend->p);
  add_number(out, page->level_now[figure]);
  if (isfinite(trend->limit)) {
    add_number(out, trend->limit);
    plag_text_add(out, trend->limit_learned ? ",1" : ",0");
    if (trend->crosses) {
      add_second(out, true, trend->crossing_unix_s);
      add_second(out, true, trend->crossing_earliest_unix_s);
      add_second(out, true, trend->crossing_latest_unix_s);
    }
  }
  plag_text_add_char(out, ']');
}

static long long in_units(double value, size_t figure) {
  return plag_number_whole(value *
                           plag_power_of_ten[platelag_fleet_figure_at(figure)->decimals + 1]);
}

/* "value below above", in whole units one decimal finer than the figure is told in; a "~" behind
 * where the value is only the middle of what is known; empty where nothing is. */
static void add_point(plag_text *out, const platelag_fleet_log *log, size_t figure) {
  const plag_trend_point point = plag_log_point(log, figure);
  plag_text_add(out, figure > 0 ? "," : "");
  if (!isfinite(point.value) || !isfinite(point.low) || !isfinite(point.high))
    return;
  const long long value = in_units(point.value, figure);
  plag_text_add_format(out, "%lld %lld %lld%s", value, value - in_units(point.low, figure),
                       in_units(point.high, figure) - value,
                       log->figure[figure].known == PLATELAG_KNOWN_VALUE ? "" : "~");
}

/* [key, file, at, series, condition, finding, how sure, report is there, points] */
static void add_log(plag_html_sheet *sheet, const platelag_fleet_log *log, size_t folder) {
  plag_text *out = &sheet->out;
  plag_text_add_char(out, '[');
  plag_json_add_text(out, log->key);
  plag_text_add_char(out, ',');
  plag_json_add_text(out, log->file + folder);
  add_second(out, log->dated, log->at_unix_s);
  plag_text_add_format(out, ",%d,%d,%d", log->series, (int)log->condition, (int)log->finding);
  add_number(out, round(100 * log->finding_probability) / 100);
  plag_text_add_format(out, ",%d,\"", plag_html_has_report(sheet, log->key));
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++)
    add_point(out, log, i);
  plag_text_add(out, "\"]");
}

/* How many bytes of folders all files have in common at their fronts. */
static size_t common_folder(const platelag_fleet_logs *logs) {
  size_t common = logs->count > 0 ? strlen(logs->log[0].file) : 0;
  for (size_t i = 1; i < logs->count; i++)
    for (size_t at = 0; at < common; at++)
      if (logs->log[i].file[at] != logs->log[0].file[at])
        common = at;
  while (common > 0 && logs->log[0].file[common - 1] != '/')
    common--;
  return common;
}

static void add_folder(plag_text *out, const platelag_fleet_logs *logs, size_t folder) {
  plag_text name = {0};
  if (folder > 0)
    plag_text_add_bytes(&name, logs->log[0].file, folder);
  plag_json_add_text(out, name.bytes != NULL ? name.bytes : "");
  out->failed = out->failed || name.failed;
  plag_text_clear(&name);
}

void plag_html_valve_data_add(plag_html_sheet *sheet, size_t index,
                              const platelag_fleet_logs *logs) {
  const plag_page *page = &sheet->fleet->book->page[index];
  plag_text_add(&sheet->out, DATA_BEGIN ">{\"t\":[");
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++) {
    plag_text_add(&sheet->out, i > 0 ? "," : "");
    add_trend(&sheet->out, page, i);
  }
  const size_t folder = common_folder(logs);
  plag_text_add(&sheet->out, "],\"f\":");
  add_folder(&sheet->out, logs, folder);
  plag_text_add(&sheet->out, ",\"l\":[");
  for (size_t i = 0; i < logs->count; i++) {
    plag_text_add(&sheet->out, i > 0 ? "," : "");
    add_log(sheet, &logs->log[i], folder);
  }
  plag_text_add(&sheet->out, "]}</script>");
}

static void add_figures(plag_text *out) {
  plag_text_add(out, "\"figures\":[");
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++) {
    const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(i);
    plag_text_add(out, i > 0 ? ",[" : "[");
    plag_json_add_text(out, kind->name);
    plag_text_add_char(out, ',');
    plag_json_add_text(out, kind->unit);
    plag_text_add_format(out, ",%d]", kind->decimals);
  }
  plag_text_add(out, "],");
}

static void add_keys(plag_text *out) {
  plag_text_add(out, "\"conditions\":[");
  for (int i = 0; i <= PLATELAG_CONDITION_AFTER; i++) {
    plag_text_add(out, i > 0 ? "," : "");
    plag_json_add_text(out, platelag_condition_name((platelag_condition)i));
  }
  plag_text_add(out, "],\"findings\":[");
  for (int i = 0; i < PLATELAG_FINDING_COUNT; i++) {
    plag_text_add(out, i > 0 ? "," : "");
    plag_json_add_text(out, platelag_finding_name((platelag_finding_kind)i));
  }
  plag_text_add(out, "],");
}

static void add_part(plag_text *out, const plag_text *part) {
  plag_json_add_text(out, part->bytes != NULL ? part->bytes : "");
  out->failed = out->failed || part->failed;
}

void plag_html_page_data_add(plag_html_sheet *sheet) {
  plag_capture_command command;
  plag_text *out = &sheet->out;
  plag_text address = {0};
  if (sheet->page->folder != NULL)
    plag_address_add(&address, sheet->page->folder);
  plag_capture_command_make(sheet->page, &command);
  plag_text_add(out, DATA_BEGIN " id=\"fleet-data\">{");
  add_figures(out);
  add_keys(out);
  plag_text_add(out, "\"folder\":");
  add_part(out, &address);
  plag_text_add(out, ",\"command\":[");
  add_part(out, &command.before);
  plag_text_add_char(out, ',');
  add_part(out, &command.between);
  plag_text_add_char(out, ',');
  add_part(out, &command.after);
  plag_text_add(out, "]}</script>\n");
  plag_capture_command_clear(&command);
  plag_text_clear(&address);
}
