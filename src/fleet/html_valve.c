/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/html_valve.h"

#include <string.h>

#include "core/html_page.h"
#include "core/html_text.h"
#include "core/number.h"
#include "core/words.h"
#include "fleet/calendar.h"
#include "fleet/html_command.h"
#include "fleet/html_trend.h"
#include "fleet/write.h"

/* --- marks ----------------------------------------------------------------------------------- */

void plag_html_marks_add(plag_text *out) {
  const char *const marks[PLATELAG_FLEET_STANDINGS] = {
      [PLATELAG_FLEET_WORK] = plag_html_mark_bad,
      [PLATELAG_FLEET_WORSE] =
          "<circle cx=\"12\" cy=\"12\" r=\"11\"/><path class=\"ink\" d=\"M6 16l4-4 3 2.5 "
          "5-7m-4.5 0H18v4.5\"/>",
      [PLATELAG_FLEET_AGAIN] = "<rect x=\"1\" y=\"1\" width=\"22\" height=\"22\" rx=\"11\"/><path "
                               "class=\"ink\" d=\"M17 9.5a5.7 "
                               "5.7 0 1 0 .7 4M17.5 5v4.5H13\"/>",
      [PLATELAG_FLEET_UNUSUAL] =
          "<path d=\"M12 .5L23.5 12 12 23.5 .5 12z\"/><path class=\"ink\" d=\"M12 "
          "6.5v6.5m0 2.5v1.400\"/>",
      [PLATELAG_FLEET_UNCLEAR] = plag_html_mark_open,
      [PLATELAG_FLEET_SOUND] = plag_html_mark_good};
  plag_text_add(out, "<svg class=\"marks\" width=\"0\" height=\"0\" aria-hidden=\"true\">");
  for (int i = 0; i < PLATELAG_FLEET_STANDINGS; i++) {
    plag_text_add_format(out, "<symbol id=\"m%d\" viewBox=\"0 0 24 24\">", i);
    plag_text_add(out, marks[i]);
    plag_text_add(out, "</symbol>");
  }
  plag_text_add(out, "</svg>\n");
}

void plag_html_mark_add(plag_text *out, platelag_fleet_standing standing) {
  plag_text_add_format(out, "<svg class=\"mark\" aria-hidden=\"true\"><use href=\"#m%d\"/></svg>",
                       (int)standing);
}

/* --- reports --------------------------------------------------------------------------------- */

bool plag_html_has_report(const plag_html_sheet *sheet, const char *key) {
  const platelag_fleet_page *page = sheet->page;
  return page->folder != NULL && page->is_there != NULL && page->is_there(page->context, key);
}

void plag_html_report_address_add(plag_html_sheet *sheet, const char *key) {
  plag_text path = {0};
  plag_text_add(&path, sheet->page->folder);
  plag_text_add_char(&path, '/');
  plag_text_add(&path, key);
  plag_text_add(&path, ".html");
  plag_address_add(&sheet->out, path.bytes != NULL ? path.bytes : "");
  sheet->out.failed = sheet->out.failed || path.failed;
  plag_text_clear(&path);
}

/* --- figures --------------------------------------------------------------------------------- */

static bool stands_out(const platelag_fleet_valve *valve) {
  return valve->q <= PLAG_FALSE_DISCOVERY_SHARE;
}

/* How far a figure has come towards its limit; NaN where there is none. */
static double share_of_limit(const platelag_fleet_trend *trend) {
  return trend->limit > 0 ? trend->usual / trend->limit : NAN;
}

/* The figure by which a finding is seen, by its key; NULL: none alone. */
static const char *shown_by(const platelag_fleet_valve *valve) {
  switch (valve->finding) {
  case PLATELAG_FINDING_STICKING: /* a wide band, or held here and there */
    return valve->trend[0].now < valve->trend[0].limit ? "held_pct" : "stick_band_pct";
  case PLATELAG_FINDING_SHORT_TRAVEL:
  case PLATELAG_FINDING_STILL:
    return "span_v";
  case PLATELAG_FINDING_SIGNAL_ERRATIC:
    return "void_a_minute";
  case PLATELAG_FINDING_SIGNAL_SHIFTED:
  case PLATELAG_FINDING_SIGNAL_LOW:
    return "closed_v";
  case PLATELAG_FINDING_SIGNAL_HIGH:
    return "open_v";
  default: /* a slow one is nearest the limit of a time */
    return NULL;
  }
}

size_t plag_html_figure_of(const platelag_fleet_valve *valve) {
  size_t nearest = valve->worst;
  double most = -INFINITY;
  const char *key = shown_by(valve);
  if (stands_out(valve))
    return valve->worst;
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++) {
    if (key != NULL && strcmp(platelag_fleet_figure_at(i)->key, key) == 0 &&
        isfinite(valve->trend[i].now))
      return i;
    if (share_of_limit(&valve->trend[i]) > most) {
      most = share_of_limit(&valve->trend[i]);
      nearest = i;
    }
  }
  return nearest;
}

void plag_html_key_add(plag_text *out, const char *key) {
  for (; *key != '\0'; key++)
    plag_text_add_char(out, (char)(*key == '_' ? ' ' : *key));
}

static void add_trend_words(plag_text *out, const platelag_fleet_valve *valve, size_t figure) {
  char date[PLAG_DATE_BYTES];
  const platelag_fleet_trend *trend = &valve->trend[figure];
  const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(figure);
  const bool told = stands_out(valve) && figure == valve->worst;
  plag_text_add_format(out, "<small>%s <b>", kind->name);
  plag_write_figure(out, figure, trend->now);
  plag_text_add_format(out, "</b> %s", kind->unit);
  if (isfinite(trend->limit)) {
    plag_text_add(out, trend->limit_learned ? "<br>learned limit " : "<br>limit ");
    plag_write_figure(out, figure, trend->limit);
  }
  if (told) {
    plag_text_add(out, isfinite(trend->limit) ? "; " : "<br>");
    plag_text_add(out, trend->slope_a_year < 0 ? "falls by " : "grows by ");
    plag_write_figure(out, figure, fabs(trend->slope_a_year));
    plag_text_add(out, " a year");
  }
  if (told && trend->crosses) {
    plag_text_add(out, "<br>at the limit on <b>");
    plag_text_add(out, plag_date_format(trend->crossing_unix_s, date));
    plag_text_add(out, "</b>");
  }
  plag_text_add(out, "</small>");
}

static void add_trend(plag_html_sheet *sheet, size_t index, const platelag_fleet_logs *logs) {
  const platelag_fleet_valve *valve = &sheet->fleet->valve[index];
  const size_t figure = plag_html_figure_of(valve);
  const plag_html_trend picture = {.logs = logs,
                                   .figure = figure,
                                   .page = &sheet->fleet->book->page[index],
                                   .with_line = stands_out(valve) && figure == valve->worst};
  plag_text *out = &sheet->out;
  const double share = share_of_limit(&valve->trend[figure]);
  plag_text_add(out, "<td data-s=\"");
  if (isfinite(share))
    plag_text_add_number(out, share, 3);
  plag_text_add(out, "\">");
  if (isfinite(valve->trend[figure].now)) {
    plag_html_trend_add(out, &picture);
    add_trend_words(out, valve, figure);
  }
  plag_text_add(out, "</td>");
}

/* --- the rows -------------------------------------------------------------------------------- */

void plag_html_ranking_head_add(plag_html_sheet *sheet) {
  static const char *const heads[] = {"Rank",     "Vehicle",         "Engine",
                                      "Standing", "Finding and why", "Figure to watch",
                                      "Next",     "Last log"};
  plag_text_add(&sheet->out, "<thead><tr>");
  for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
    if (sheet->with_engines || strcmp(heads[i], "Engine") != 0)
      plag_text_add_format(&sheet->out, "<th scope=\"col\">%s</th>", heads[i]);
  plag_text_add(&sheet->out, "</tr></thead>\n");
}

/* What the script sorts and filters by. */
static void begin_valve(plag_html_sheet *sheet, size_t index) {
  enum { DIGITS = 9 }; /* so that none changes its bin */
  char number[PLAG_NUMBER_TEXT_BYTES];
  const platelag_fleet_valve *valve = &sheet->fleet->valve[index];
  plag_text *out = &sheet->out;
  plag_text_add(out, "<tbody");
  if (index == 0 || sheet->fleet->valve[index - 1].standing != valve->standing)
    plag_text_add_format(out, " id=\"s%d\"", (int)valve->standing);
  plag_text_add_format(out, " data-k=\"%d\" data-n=\"", (int)valve->standing);
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++) {
    plag_text_add(out, i > 0 ? "," : "");
    if (isfinite(valve->trend[i].now))
      plag_text_add(out, plag_number_format_json(valve->trend[i].now, DIGITS, number));
  }
  plag_text_add(out, "\">");
}

static void add_small(plag_text *out, const char *text) {
  plag_text_add(out, "<small>");
  plag_html_name_add(out, text);
  plag_text_add(out, "</small>");
}

/* A path that stands for a vehicle's name is told by its file, with its folders below. */
static void add_vehicle(plag_text *out, const plag_page *page) {
  const char *name = page->valve->vehicle;
  const bool is_path = strcmp(name, page->valve->last_file) == 0;
  const char *slash = is_path ? strrchr(name, '/') : NULL;
  plag_text_add(out, "<th scope=\"row\"><span>");
  plag_html_name_add(out, slash != NULL ? slash + 1 : name);
  plag_text_add(out, "</span>");
  if (strcmp(page->valve->valve, "valve") != 0)
    add_small(out, page->valve->valve);
  if (slash != NULL) {
    plag_text folder = {0};
    plag_text_add_bytes(&folder, name, (size_t)(slash - name));
    add_small(out, folder.bytes != NULL ? folder.bytes : "");
    out->failed = out->failed || folder.failed;
    plag_text_clear(&folder);
  }
  plag_text_add(out, "</th>");
}

static void add_names(plag_html_sheet *sheet, size_t index) {
  const platelag_fleet_valve *valve = &sheet->fleet->valve[index];
  plag_text *out = &sheet->out;
  plag_text_add_format(out, "<tr><td>%zu</td>", valve->rank);
  add_vehicle(out, &sheet->fleet->book->page[index]);
  if (sheet->with_engines) {
    plag_text_add(out, "<td>");
    plag_html_name_add(out, valve->engine);
    plag_text_add(out, "</td>");
  }
}

static void add_standing(plag_html_sheet *sheet, const platelag_fleet_valve *valve) {
  plag_text *out = &sheet->out;
  plag_text_add_format(out, "<td class=\"k%d\">", (int)valve->standing);
  plag_html_mark_add(out, valve->standing);
  plag_text_add_format(out, "<span>%s</span></td>", platelag_fleet_standing_name(valve->standing));
}

/* The finding with who agrees on it, and the last log's own words; where no log tells of a fault,
 * the first reason. */
static void add_why(plag_html_sheet *sheet, const platelag_fleet_valve *valve) {
  plag_text *out = &sheet->out;
  plag_text_add(out, "<td><div><b>");
  plag_html_key_add(out, platelag_finding_name(valve->finding));
  plag_text_add(out, "</b>");
  if (valve->agreeing > 0) {
    plag_text_add(out, ", ");
    if (valve->family != PLATELAG_FAMILY_UNDECIDED) {
      plag_html_key_add(out, platelag_family_name(valve->family));
      plag_text_add(out, ", ");
    }
    char sure[PLAG_PROBABILITY_BYTES];
    plag_text_add(out, plag_probability_words(valve->probability, sure));
    plag_text_add_format(out, " sure, %zu %s. ", valve->agreeing,
                         valve->agreeing == 1 ? "log" : "logs agree");
    plag_html_name_add(out, valve->last_sentence);
  } else if (valve->reason_count > 0) {
    plag_text_add(out, ". ");
    plag_html_name_add(out, valve->reason[0]);
  }
  plag_text_add(out, "</div></td>");
}

static void add_last(plag_html_sheet *sheet, const platelag_fleet_valve *valve) {
  char date[PLAG_DATE_BYTES];
  plag_text *out = &sheet->out;
  plag_text_add(out, "<td data-s=\"");
  if (valve->last_dated)
    plag_text_add_format(out, "%lld", (long long)valve->last_unix_s);
  plag_text_add(out, "\">");
  plag_text_add(out, valve->last_dated ? plag_date_format(valve->last_unix_s, date) : "no date");
  plag_text_add_format(out, "<small>%zu %s</small></td></tr>\n", valve->logs,
                       valve->logs == 1 ? "log" : "logs");
}

/* What the first row has no room for. */
static void add_rest(plag_html_sheet *sheet, const platelag_fleet_valve *valve) {
  plag_text *out = &sheet->out;
  const size_t first = valve->agreeing > 0 ? 0 : 1;
  if (valve->reason_count > first) {
    plag_text_add(out, "<ul>");
    for (size_t i = first; i < valve->reason_count; i++) {
      plag_text_add(out, "<li>");
      plag_html_name_add(out, valve->reason[i]);
      plag_text_add(out, "</li>");
    }
    plag_text_add(out, "</ul>");
  }
  plag_text_add(out, "<p class=\"file\">Last log: ");
  const bool linked = plag_html_has_report(sheet, valve->last_key);
  if (linked) {
    plag_text_add(out, "<a href=\"");
    plag_html_report_address_add(sheet, valve->last_key);
    plag_text_add(out, "\">");
  }
  plag_html_name_add(out, valve->last_file);
  plag_text_add(out, linked ? "</a></p>" : "</p>");
}

void plag_html_valve_add(plag_html_sheet *sheet, size_t index, const platelag_fleet_logs *logs) {
  const platelag_fleet_valve *valve = &sheet->fleet->valve[index];
  begin_valve(sheet, index);
  add_names(sheet, index);
  add_standing(sheet, valve);
  add_why(sheet, valve);
  add_trend(sheet, index, logs);
  plag_text_add(&sheet->out, "<td><div>");
  if (valve->standing != PLATELAG_FLEET_SOUND)
    plag_html_name_add(&sheet->out, valve->next_test);
  plag_text_add(&sheet->out, "</div></td>");
  add_last(sheet, valve);
  plag_text_add_format(&sheet->out, "<tr class=\"more\"><td colspan=\"%d\">",
                       sheet->with_engines ? 8 : 7);
  add_rest(sheet, valve);
  plag_html_valve_data_add(sheet, index, logs);
  plag_text_add(&sheet->out, "</td></tr></tbody>\n");
}
