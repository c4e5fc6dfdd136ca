/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/plots.h"

#include <assert.h>
#include <math.h>
#include <string.h>

typedef void build_plot(plag_document *document, const platelag_review_valve *valve,
                        plag_plot *plot);

/* In the order in which they are looked at. */
static build_plot *const builders[PLAG_PLOT_KINDS] = {
    [PLAG_PLOT_TIME] = plag_plot_time,     [PLAG_PLOT_LOOP] = plag_plot_loop,
    [PLAG_PLOT_MOVES] = plag_plot_moves,   [PLAG_PLOT_HELD] = plag_plot_held,
    [PLAG_PLOT_LEVELS] = plag_plot_levels,
};

void plag_plots_build(plag_document *document, const platelag_review_valve *valve,
                      const char *title, plag_plots *plots) {
  *plots = (plag_plots){.title = title, .valve = valve};
  for (int i = 0; i < PLAG_PLOT_KINDS; i++) {
    plots->plot[i].kind = (plag_plot_kind)i;
    builders[i](document, valve, &plots->plot[i]);
    if (document->failed)
      plots->plot[i].panel_count = 0;
  }
  plag_plots_build_steps(document, valve, &plots->steps);
  document->failed = document->failed || plots->steps.failed;
}

void plag_plots_clear(plag_plots *plots) {
  plag_document_clear(&plots->steps);
}

static void widen(plag_axis *axis, const plag_axis *other) {
  axis->from = fmin(axis->from, other->from);
  axis->to = fmax(axis->to, other->to);
}

static void share_axes(plag_plot *one, plag_plot *other) {
  if (one->panel_count == 0 || other->panel_count == 0)
    return;
  if (one->kind != PLAG_PLOT_TIME && strcmp(one->x.label, other->x.label) == 0) {
    widen(&one->x, &other->x);
    other->x = one->x;
  }
  for (size_t i = 0; i < one->panel_count && i < other->panel_count; i++) {
    if (strcmp(one->panel[i].y.label, other->panel[i].y.label) != 0)
      continue; /* volts and shares of travel */
    widen(&one->panel[i].y, &other->panel[i].y);
    widen(&other->panel[i].y, &one->panel[i].y);
  }
}

void plag_plots_share_axes(plag_plots *plots, size_t count) {
  for (int kind = 0; kind < PLAG_PLOT_KINDS; kind++)
    for (size_t i = 0; i < 2 * count; i++) /* the second time round all get the widest */
      for (size_t k = 0; k < count; k++)
        if (k != i % count)
          share_axes(&plots[i % count].plot[kind], &plots[k].plot[kind]);
}

double *plag_plot_array(plag_document *document, size_t count) {
  double *array = plag_arena_take_array(&document->arena, count > 0 ? count : 1, sizeof *array);
  document->failed = document->failed || array == NULL;
  return array;
}

/* Keeps of `count` points from `first` on the lowest and the highest, in their order; a part with a
 * gap keeps the gap at its end. */
static void keep_extremes(const plag_plot_line *line, size_t first, size_t count, double *x,
                          double *y, size_t *kept) {
  size_t lowest = first, highest = first;
  bool gap = false;
  for (size_t i = first; i < first + count; i++) {
    gap = gap || isnan(line->y[i]);
    lowest = !(line->y[i] >= line->y[lowest]) && !isnan(line->y[i]) ? i : lowest;
    highest = !(line->y[i] <= line->y[highest]) && !isnan(line->y[i]) ? i : highest;
  }
  const size_t order[] = {lowest < highest ? lowest : highest, lowest < highest ? highest : lowest};
  for (size_t k = 0; k < 2; k++) {
    x[*kept] = line->x[order[k]];
    y[(*kept)++] = k == 1 && gap ? NAN : line->y[order[k]];
  }
}

void plag_plot_thin(plag_document *document, plag_plot_line *line) {
  if (line->count <= PLAG_PLOT_POINTS)
    return;
  const size_t part = (line->count + PLAG_PLOT_POINTS / 2 - 1) / (PLAG_PLOT_POINTS / 2);
  double *x = plag_plot_array(document, PLAG_PLOT_POINTS + 2);
  double *y = plag_plot_array(document, PLAG_PLOT_POINTS + 2);
  if (x == NULL || y == NULL)
    return;
  size_t kept = 0;
  for (size_t i = 0; i < line->count; i += part)
    keep_extremes(line, i, line->count - i < part ? line->count - i : part, x, y, &kept);
  line->x = x;
  line->y = y;
  line->count = kept;
}

plag_plot_panel *plag_plot_add_panel(plag_plot *plot, const char *label, bool is_strip) {
  assert(plot->panel_count < PLAG_PLOT_PANELS);
  plag_plot_panel *panel = &plot->panel[plot->panel_count++];
  *panel = (plag_plot_panel){.y.label = label, .is_strip = is_strip};
  return panel;
}

plag_plot_line *plag_plot_add_line(plag_plot_panel *panel, plag_look look, plag_stroke stroke,
                                   const char *name) {
  assert(panel->line_count < PLAG_PANEL_LINES);
  plag_plot_line *line = &panel->line[panel->line_count++];
  *line = (plag_plot_line){.look = look, .stroke = stroke, .name = name};
  return line;
}

void plag_plot_add_mark(plag_plot_panel *panel, bool is_limit, bool of_x, double at,
                        const char *label) {
  assert(panel->mark_count < PLAG_PANEL_MARKS);
  panel->mark[panel->mark_count++] = (plag_plot_mark){is_limit, of_x, at, label};
}

static void include(plag_axis *axis, double value) {
  if (!isfinite(value))
    return;
  axis->from = fmin(axis->from, value);
  axis->to = fmax(axis->to, value);
}

void plag_plot_fit_y(plag_plot_panel *panel, double least, double most) {
  plag_axis *axis = &panel->y;
  axis->from = least;
  axis->to = most;
  for (size_t i = 0; i < panel->line_count; i++)
    for (size_t k = 0; k < panel->line[i].count; k++) {
      include(axis, panel->line[i].y[k]);
      include(axis, panel->line[i].y_high != NULL ? panel->line[i].y_high[k] : NAN);
    }
  for (size_t i = 0; i < panel->mark_count; i++)
    include(axis, panel->mark[i].of_x ? NAN : panel->mark[i].at);
  const bool has_bars = panel->line_count > 0 && panel->line[0].stroke == PLAG_STROKE_BARS;
  const double margin = 0.04 * (axis->to - axis->from);
  axis->from -= has_bars ? 0 : margin;
  axis->to += margin;
  if (!(axis->to > axis->from)) {
    axis->from -= 1;
    axis->to += 1;
  }
}

bool plag_plot_in_travel(const platelag_trace *trace) {
  return trace->scale != PLATELAG_SCALE_NOMINAL;
}

double plag_plot_position(const platelag_trace *trace, double level) {
  return plag_plot_in_travel(trace) ? platelag_trace_travel_pct(trace, level) : level;
}

static const char *level_label(platelag_level_unit unit) {
  switch (unit) {
  case PLATELAG_LEVEL_VOLT:
    return "position (V)";
  case PLATELAG_LEVEL_PCT_REFERENCE:
    return "position (% of reference)";
  case PLATELAG_LEVEL_PCT_OPEN:
    return "position (% open)";
  case PLATELAG_LEVEL_UNKNOWN:
    break;
  }
  return "position";
}

const char *plag_plot_position_label(const platelag_trace *trace) {
  return plag_plot_in_travel(trace) ? "position (% of travel)" : level_label(trace->level_unit);
}

static const char *stop_label(plag_document *document, const char *name, double volts) {
  plag_document_say(document, name);
  if (isfinite(volts)) {
    plag_document_say(document, ", ");
    plag_document_say_number(document, volts, 2);
    plag_document_say(document, " V");
  }
  return plag_document_take(document);
}

const char *plag_plot_limit_label(plag_document *document, double limit, const char *unit) {
  plag_document_say(document, "limit ");
  plag_document_say_figure(document, limit);
  plag_document_say(document, " ");
  plag_document_say(document, unit);
  return plag_document_take(document);
}

static void add_stops(plag_document *document, plag_plot_panel *panel,
                      const platelag_travel *travel) {
  plag_plot_add_mark(panel, false, false, 0, stop_label(document, "closed stop", travel->closed_v));
  plag_plot_add_mark(panel, false, false, 100, stop_label(document, "open stop", travel->open_v));
}

static void add_limits(plag_document *document, plag_plot_panel *panel,
                       const platelag_review_valve *valve) {
  const double limits_pct[] = {valve->spec.low_limit_pct, valve->spec.high_limit_pct};
  const double level_per_pct = valve->trace->reference_v / 100 / valve->trace->volts_per_level;
  for (size_t i = 0; i < 2 && isfinite(level_per_pct); i++)
    plag_plot_add_mark(panel, true, false, limits_pct[i] * level_per_pct,
                       plag_plot_limit_label(document, limits_pct[i], "%"));
}

void plag_plot_frame_positions(plag_document *document, plag_plot_panel *panel,
                               const platelag_review_valve *valve) {
  const platelag_trace *trace = valve->trace;
  if (plag_plot_in_travel(trace)) {
    add_stops(document, panel, &valve->fit->travel);
    plag_plot_fit_y(panel, 0, 100);
    return;
  }
  add_limits(document, panel, valve);
  const bool in_volts = trace->level_unit == PLATELAG_LEVEL_VOLT && trace->reference_v > 0;
  const bool in_percent = trace->level_unit == PLATELAG_LEVEL_PCT_REFERENCE ||
                          trace->level_unit == PLATELAG_LEVEL_PCT_OPEN;
  plag_plot_fit_y(panel, in_volts || in_percent ? 0 : trace->level[0],
                  in_volts     ? trace->reference_v
                  : in_percent ? 100
                               : trace->level[0]);
}

void plag_plot_frame_channel(plag_plot_panel *panel, const platelag_channel *channel) {
  const bool is_share = channel->unit == PLATELAG_UNIT_PERCENT;
  plag_plot_fit_y(panel, is_share ? fmin(channel->lowest, 0) : channel->lowest,
                  is_share ? fmax(channel->highest, 100) : channel->highest);
}

const char *plag_plot_channel_label(plag_document *document, const platelag_channel *channel) {
  plag_document_say(document, channel->name);
  if (channel->unit_text != NULL && channel->unit_text[0] != '\0') {
    plag_document_say(document, " (");
    plag_document_say(document, channel->unit_text);
    plag_document_say(document, ")");
  } else if (channel->kind == PLATELAG_VALUE_STATE) {
    plag_document_say(document, " (1: on)");
  }
  return plag_document_take(document);
}
