/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/html_data.h"

#include <math.h>

#include "core/number.h"
#include "report/html_plots.h"

enum { MOST_DECIMALS = 6 };

/* Readings in decimals of a recorder come out exactly; what was computed, finer than any screen. */
#define FINE_ENOUGH 1e-5

/* The least decimals in which all values are whole; else as many as `span` asks for. */
static int decimals_of(const double *value, size_t count, double span) {
  for (int decimals = 0; decimals <= MOST_DECIMALS; decimals++) {
    const double unit = pow(10, decimals);
    bool whole = true;
    for (size_t i = 0; i < count && whole; i++)
      whole = isnan(value[i]) || fabs(value[i] * unit - round(value[i] * unit)) < 1e-6;
    if (whole)
      return decimals;
  }
  const double needed = ceil(-log10(FINE_ENOUGH * span));
  return (int)fmin(fmax(needed, 0), MOST_DECIMALS);
}

static void add_column(plag_text *out, const char *name, const double *value, size_t count,
                       double span) {
  const int decimals = decimals_of(value, count, span);
  const double unit = pow(10, decimals);
  plag_text_add_format(out, "\"%s\":{\"d\":%d,\"v\":[", name, decimals);
  long long last = 0;
  for (size_t i = 0; i < count; i++) {
    plag_text_add(out, i > 0 ? "," : "");
    if (!isfinite(value[i])) {
      plag_text_add(out, "null");
      continue;
    }
    const long long now = plag_number_whole(value[i] * unit);
    plag_text_add_integer(out, now - last);
    last = now;
  }
  plag_text_add(out, "]}");
}

static void add_pair(plag_text *out, const char *name, const plag_axis *axis) {
  plag_text_add_format(out, "\"%s\":[", name);
  plag_text_add_number(out, axis->from, MOST_DECIMALS);
  plag_text_add(out, ",");
  plag_text_add_number(out, axis->to, MOST_DECIMALS);
  plag_text_add(out, "]");
}

static void add_marks(plag_text *out, const plag_plot_panel *panel) {
  plag_text_add(out, "\"marks\":[");
  for (size_t i = 0; i < panel->mark_count; i++) {
    plag_text_add(out, i > 0 ? ",{\"at\":" : "{\"at\":");
    plag_text_add_number(out, panel->mark[i].at, MOST_DECIMALS);
    plag_text_add_format(out, ",\"limit\":%s}", panel->mark[i].is_limit ? "true" : "false");
  }
  plag_text_add(out, "]");
}

/* The lines but for those of look `but`. */
static void add_lines(plag_text *out, const plag_plot *plot, const plag_plot_panel *panel,
                      plag_look but) {
  size_t count = 0;
  plag_text_add(out, "\"lines\":[");
  for (size_t i = 0; i < panel->line_count; i++) {
    const plag_plot_line *line = &panel->line[i];
    if (line->look == but)
      continue;
    plag_text_add_format(out, "%s{\"look\":\"%s\",\"steps\":%d,", count++ > 0 ? "," : "",
                         plag_html_look(line->look), line->stroke == PLAG_STROKE_STEPS);
    add_column(out, "x", line->x, line->count, plot->x.to - plot->x.from);
    plag_text_add(out, ",");
    add_column(out, "y", line->y, line->count, panel->y.to - panel->y.from);
    plag_text_add(out, "}");
  }
  plag_text_add(out, "]");
}

static void add_spans(plag_text *out, const plag_plot *plot) {
  plag_text_add(out, "\"spans\":{");
  for (int look = 0, looks = 0; look < PLAG_LOOK_COUNT; look++) {
    if (plot->span_name[look] == NULL)
      continue;
    plag_text_add_format(out, "%s\"%s\":[", looks++ > 0 ? "," : "",
                         plag_html_look((plag_look)look));
    for (size_t i = 0, count = 0; i < plot->span_count; i++) {
      if (plot->span[i].look != (plag_look)look)
        continue;
      plag_text_add(out, count++ > 0 ? "," : "");
      plag_text_add_number(out, plot->span[i].from, 3);
      plag_text_add(out, ",");
      plag_text_add_number(out, plot->span[i].to, 3);
    }
    plag_text_add(out, "]");
  }
  plag_text_add(out, "}");
}

static void add_plot(plag_text *out, const plag_plot *plot, plag_look but, size_t id,
                     size_t capture) {
  plag_text_add(out, "\"id\":\"");
  plag_html_plot_id(out, plot->kind, id, capture);
  plag_text_add(out, "\",");
  add_pair(out, "x", &plot->x);
  plag_text_add(out, ",\"panels\":[");
  for (size_t i = 0; i < plot->panel_count; i++) {
    plag_text_add(out, i > 0 ? ",{" : "{");
    add_pair(out, "y", &plot->panel[i].y);
    plag_text_add_format(out, ",\"strip\":%s,", plot->panel[i].is_strip ? "true" : "false");
    add_marks(out, &plot->panel[i]);
    plag_text_add(out, ",");
    add_lines(out, plot, &plot->panel[i], but);
    plag_text_add(out, "}");
  }
  plag_text_add(out, "]");
}

bool plag_html_data_add(plag_text *out, const plag_plots *plots, size_t id, size_t capture) {
  const plag_plot *time = &plots->plot[PLAG_PLOT_TIME], *loop = &plots->plot[PLAG_PLOT_LOOP];
  if (time->panel_count == 0)
    return false;
  plag_text_add(out, "{");
  add_plot(out, time, PLAG_LOOK_COUNT, id, capture);
  plag_text_add(out, ",");
  add_spans(out, time);
  if (loop->panel_count > 0) {
    plag_text_add(out, ",\"loop\":{");
    add_plot(out, loop, PLAG_LOOK_POSITION, id, capture);
    plag_text_add(out, "}");
  }
  plag_text_add(out, "}");
  return true;
}
