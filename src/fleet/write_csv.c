/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "core/spreadsheet.h"
#include "fleet/calendar.h"
#include "fleet/write.h"

static void add_number(plag_text *out, double value, int decimals) {
  plag_cell_next(out);
  if (isfinite(value))
    plag_text_add_number(out, value, decimals);
}

static void add_text(plag_text *out, const char *text) {
  plag_cell_next(out);
  plag_cell_add_text(out, text);
}

static void add_date(plag_text *out, bool known, int64_t unix_s) {
  char date[PLAG_DATE_BYTES];
  add_text(out, known && unix_s != INT64_MAX ? plag_date_format(unix_s, date) : "");
}

static void add_header(plag_text *out) {
  plag_text_add(out, "rank,vehicle,engine,valve,standing,finding,family,probability,agreeing,logs,"
                     "series_logs,last_log,last_file,p,q,worst_figure");
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++) {
    const char *key = platelag_fleet_figure_at(i)->key;
    plag_text_add_format(out, ",%s,%s_low,%s_high,%s_a_year,%s_limit,%s_crosses", key, key, key,
                         key, key, key);
  }
  plag_text_add(out, ",reasons,next_test");
  plag_cell_end_row(out);
}

static void add_trend(plag_text *out, const platelag_fleet_trend *trend, size_t figure) {
  const int decimals = platelag_fleet_figure_at(figure)->decimals;
  add_number(out, trend->now, decimals + 1);
  add_number(out, trend->now_low, decimals + 1);
  add_number(out, trend->now_high, decimals + 1);
  add_number(out, trend->slope_a_year, decimals + 1);
  add_number(out, trend->limit, decimals + 1);
  add_date(out, trend->crosses, trend->crossing_unix_s);
}

static void add_reasons(plag_text *out, const platelag_fleet_valve *valve) {
  plag_text all = {0};
  for (size_t i = 0; i < valve->reason_count; i++) {
    plag_text_add(&all, i > 0 ? " " : "");
    plag_text_add(&all, valve->reason[i]);
  }
  add_text(out, all.bytes != NULL ? all.bytes : "");
  out->failed = out->failed || all.failed;
  plag_text_clear(&all);
}

static void add_valve(plag_text *out, const platelag_fleet_valve *valve) {
  plag_text_add_format(out, "%zu", valve->rank);
  add_text(out, valve->vehicle);
  add_text(out, valve->engine);
  add_text(out, valve->valve);
  add_text(out, platelag_fleet_standing_name(valve->standing));
  add_text(out, platelag_finding_name(valve->finding));
  add_text(out, platelag_family_name(valve->family));
  add_number(out, valve->probability, 3);
  add_number(out, (double)valve->agreeing, 0);
  add_number(out, (double)valve->logs, 0);
  add_number(out, (double)valve->series_logs, 0);
  add_date(out, valve->last_dated, valve->last_unix_s);
  add_text(out, valve->last_file);
  add_number(out, valve->p, 5);
  add_number(out, valve->q, 5);
  add_text(out, isfinite(valve->p) ? platelag_fleet_figure_at(valve->worst)->key : "");
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++)
    add_trend(out, &valve->trend[i], i);
  add_reasons(out, valve);
  add_text(out, valve->next_test);
  plag_cell_end_row(out);
}

platelag_status platelag_fleet_write_csv(const platelag_fleet *fleet, const platelag_sink *sink,
                                         platelag_error *error) {
  plag_text text = {0};
  add_header(&text);
  platelag_status status = plag_write_text(&text, sink, error);
  for (size_t i = 0; i < fleet->valve_count && status == PLATELAG_OK; i++) {
    add_valve(&text, &fleet->valve[i]);
    status = plag_write_text(&text, sink, error);
  }
  plag_text_clear(&text);
  return status;
}
