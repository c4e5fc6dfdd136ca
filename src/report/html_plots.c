/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A panel is an SVG whose box is the plotting area: what is placed in it is placed in percent, so
 * that letters keep their size at every width; lines lie in a box inside that is stretched. */
#include "report/html_plots.h"

#include "core/html_page.h"
#include "core/html_text.h"
#include "report/html_blocks.h"
#include "report/svg_path.h"
#include "report/ticks.h"

enum { TICKS_WIDE = 10, TICKS_NARROW = 6, TICKS_UP = 5, TICKS_UP_STRIP = 3, SPANS_MOST = 2000 };

static const char *kind_class(plag_plot_kind kind) {
  static const char *const classes[PLAG_PLOT_KINDS] = {[PLAG_PLOT_TIME] = "time",
                                                       [PLAG_PLOT_LOOP] = "loop",
                                                       [PLAG_PLOT_MOVES] = "moves",
                                                       [PLAG_PLOT_HELD] = "profile",
                                                       [PLAG_PLOT_LEVELS] = "levels"};
  return classes[kind];
}

const char *plag_html_look(plag_look look) {
  static const char *const classes[PLAG_LOOK_COUNT] = {
      [PLAG_LOOK_POSITION] = "position", [PLAG_LOOK_ASKED] = "asked",
      [PLAG_LOOK_COMMAND] = "command",   [PLAG_LOOK_EFFORT] = "effort",
      [PLAG_LOOK_MOVE] = "move",         [PLAG_LOOK_FIT] = "fit",
      [PLAG_LOOK_RANGE] = "range",       [PLAG_LOOK_BAND] = "band",
      [PLAG_LOOK_BARS] = "bars",         [PLAG_LOOK_HELD] = "held",
      [PLAG_LOOK_VOID] = "void"};
  return classes[look];
}

static bool is_area(plag_look look) {
  return look == PLAG_LOOK_RANGE || look == PLAG_LOOK_BARS || look == PLAG_LOOK_HELD ||
         look == PLAG_LOOK_VOID;
}

/* Only what is hatched refers to a pattern; colours are the style's. */
static void add_fill(plag_text *out, plag_look look) {
  if (look == PLAG_LOOK_HELD || look == PLAG_LOOK_VOID)
    plag_text_add_format(out, " fill=\"url(#hatch-%s)\"", plag_html_look(look));
}

void plag_html_plots_add_patterns(plag_text *out) {
  plag_text_add(out, "<svg class=\"patterns\" width=\"0\" height=\"0\" aria-hidden=\"true\"><defs>"
                     "<pattern id=\"hatch-held\" width=\"7\" height=\"7\" "
                     "patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">"
                     "<rect class=\"held-ground\" width=\"7\" height=\"7\"/>"
                     "<path class=\"held-line\" d=\"M0 0v7\"/></pattern>"
                     "<pattern id=\"hatch-void\" width=\"10\" height=\"10\" "
                     "patternUnits=\"userSpaceOnUse\">"
                     "<rect class=\"void-ground\" width=\"10\" height=\"10\"/>"
                     "<path class=\"void-line\" d=\"M0 0l10 10M10 0L0 10\"/></pattern>"
                     "</defs></svg>\n");
}

/* --- a panel ---------------------------------------------------------------------------------- */

static double percent_of(const plag_axis *axis, double value) {
  return 100 * (value - axis->from) / (axis->to - axis->from);
}

static void add_y_ticks(plag_text *out, const plag_plot_panel *panel) {
  const plag_ticks ticks = plag_ticks_of(&panel->y, panel->is_strip ? TICKS_UP_STRIP : TICKS_UP);
  for (size_t i = 0; i < ticks.count; i++) {
    const double percent = 100 - percent_of(&panel->y, plag_tick_at(&ticks, i));
    plag_html_rule_add(out, "grid", true, percent);
    plag_text_add(out, "<text class=\"tick\" text-anchor=\"end\" x=\"-7\" dy=\".35em\"");
    plag_html_percent_add(out, "y", percent);
    plag_text_add(out, ">");
    plag_tick_add(out, &ticks, i);
    plag_text_add(out, "</text>");
  }
}

static void add_x_ticks(plag_text *out, const plag_plot *plot, bool with_text) {
  const plag_ticks ticks =
      plag_ticks_of(&plot->x, plot->kind == PLAG_PLOT_TIME ? TICKS_WIDE : TICKS_NARROW);
  for (size_t i = 0; i < ticks.count; i++) {
    const double percent = percent_of(&plot->x, plag_tick_at(&ticks, i));
    plag_html_rule_add(out, "grid", false, percent);
    if (!with_text)
      continue;
    plag_text_add_format(out,
                         "<text class=\"tick%s\" text-anchor=\"middle\" y=\"100%%\" dy=\"1.4em\"",
                         i % 2 == 1 ? " odd" : "");
    plag_html_percent_add(out, "x", percent);
    plag_text_add(out, ">");
    plag_tick_add(out, &ticks, i);
    plag_text_add(out, "</text>");
  }
  if (with_text) {
    plag_text_add(out,
                  "<text class=\"unit\" text-anchor=\"end\" x=\"100%\" y=\"100%\" dy=\"2.8em\">");
    plag_html_text_add(out, plot->x.label);
    plag_text_add(out, "</text>");
  }
}

/* Spans that touch in the picture are drawn as one. */
static void add_spans(plag_text *out, const plag_plot *plot) {
  const double near = (plot->x.to - plot->x.from) / SPANS_MOST;
  for (size_t i = 0; i < plot->span_count;) {
    plag_plot_span span = plot->span[i++];
    while (i < plot->span_count && plot->span[i].look == span.look &&
           plot->span[i].from - span.to < near && plot->span[i].from >= span.from)
      span.to = plot->span[i++].to;
    plag_text_add_format(out, "<rect class=\"%s\" height=\"100%%\"", plag_html_look(span.look));
    add_fill(out, span.look);
    plag_html_percent_add(out, "x", percent_of(&plot->x, span.from));
    plag_html_percent_add(out, "width",
                          percent_of(&plot->x, span.to) - percent_of(&plot->x, span.from));
    plag_text_add(out, "/>");
  }
}

static void add_lines(plag_text *out, const plag_plot *plot, const plag_plot_panel *panel) {
  plag_text_add_format(out,
                       "<svg viewBox=\"0 0 %d %d\" preserveAspectRatio=\"none\" "
                       "width=\"100%%\" height=\"100%%\">",
                       PLAG_SVG_WIDTH, PLAG_SVG_HEIGHT);
  for (size_t i = 0; i < panel->line_count; i++) {
    const plag_plot_line *line = &panel->line[i];
    plag_text_add_format(out, "<path class=\"%s%s\" d=\"", plag_html_look(line->look),
                         is_area(line->look) ? "" : " line");
    plag_svg_path_add(out, line, &plot->x, &panel->y);
    plag_text_add(out, "\"/>");
  }
  plag_text_add(out, "</svg>");
}

static void add_marks(plag_text *out, const plag_plot *plot, const plag_plot_panel *panel) {
  for (size_t i = 0; i < panel->mark_count; i++) {
    const plag_plot_mark *mark = &panel->mark[i];
    const double percent =
        mark->of_x ? percent_of(&plot->x, mark->at) : 100 - percent_of(&panel->y, mark->at);
    if (!(percent >= 0 && percent <= 100))
      continue;
    plag_html_rule_add(out, mark->is_limit ? "limit" : "place", !mark->of_x, percent);
    plag_text_add_format(out, "<text class=\"%s-label\"", mark->is_limit ? "limit" : "place");
    if (mark->of_x) {
      plag_text_add(out, percent > 60 ? " text-anchor=\"end\" dx=\"-4\"" : " dx=\"4\"");
      plag_text_add(out, mark->is_limit ? " y=\"0\" dy=\"1em\"" : " y=\"0\" dy=\"2.3em\"");
      plag_html_percent_add(out, "x", percent);
    } else {
      plag_text_add(out, " text-anchor=\"end\" x=\"100%\" dx=\"-4\"");
      plag_text_add(out, percent < 12 ? " dy=\"1.1em\"" : " dy=\"-.35em\"");
      plag_html_percent_add(out, "y", percent);
    }
    plag_text_add(out, ">");
    plag_html_text_add(out, mark->label);
    plag_text_add(out, "</text>");
  }
}

static void add_panel(plag_text *out, const plag_plot *plot, size_t index) {
  const plag_plot_panel *panel = &plot->panel[index];
  const bool is_last = index + 1 == plot->panel_count;
  plag_text_add_format(out, "<svg class=\"panel%s%s\" aria-hidden=\"true\">",
                       panel->is_strip ? " strip" : "", is_last ? " last" : "");
  plag_text_add(out, "<rect class=\"ground\" width=\"100%\" height=\"100%\"/>");
  add_y_ticks(out, panel);
  add_x_ticks(out, plot, is_last);
  add_spans(out, plot);
  add_lines(out, plot, panel);
  add_marks(out, plot, panel);
  plag_text_add(out, "<text class=\"unit\" x=\"0\" y=\"0\" dy=\"-.5em\">");
  plag_html_text_add(out, panel->y.label);
  plag_text_add(out, "</text></svg>\n");
}

/* --- a figure --------------------------------------------------------------------------------- */

static void add_key(plag_text *out, plag_look look, const char *name) {
  plag_text_add(out, "<li><svg class=\"key\" width=\"30\" height=\"12\" aria-hidden=\"true\">");
  if (is_area(look)) {
    plag_text_add_format(out, "<rect class=\"%s\" width=\"30\" height=\"12\"",
                         plag_html_look(look));
    add_fill(out, look);
    plag_text_add(out, "/>");
  } else {
    plag_text_add_format(out, "<path class=\"%s line\" d=\"M0 6h30\"/>", plag_html_look(look));
  }
  plag_text_add(out, "</svg>");
  plag_html_prose_add(out, name);
  plag_text_add(out, "</li>");
}

/* The first line of a look, in whatever panel, speaks for all; of moves each panel has its own. */
static void add_keys(plag_text *out, const plag_plot *plot, plag_look look) {
  for (size_t p = 0; p < plot->panel_count; p++)
    for (size_t i = 0; i < plot->panel[p].line_count; i++) {
      const plag_plot_line *line = &plot->panel[p].line[i];
      if (line->look != look || line->name[0] == '\0')
        continue;
      add_key(out, look, line->name);
      if (look != PLAG_LOOK_MOVE)
        return;
    }
}

static void add_legend(plag_text *out, const plag_plot *plot) {
  plag_text_add(out, "<ul class=\"legend\">");
  for (int look = 0; look < PLAG_LOOK_COUNT; look++) {
    add_keys(out, plot, (plag_look)look);
    if (plot->span_name[look] != NULL)
      add_key(out, (plag_look)look, plot->span_name[look]);
  }
  plag_text_add(out, "</ul>\n");
}

void plag_html_plot_id(plag_text *out, plag_plot_kind kind, size_t id, size_t capture) {
  plag_text_add_format(out, "%s-%zu-%zu", kind_class(kind), id, capture);
}

static void add_figure(plag_text *out, const plag_plots *plots, plag_plot_kind kind, size_t id,
                       size_t capture) {
  const plag_plot *plot = &plots->plot[kind];
  plag_text_add_format(out, "<figure class=\"plot %s\" id=\"", kind_class(kind));
  plag_html_plot_id(out, kind, id, capture);
  plag_text_add(out, "\">\n");
  plag_text_add(out, "<figcaption><h4>");
  if (plots->title[0] != '\0') {
    plag_html_prose_add(out, plots->title);
    plag_text_add(out, ": ");
  }
  plag_html_prose_add(out, plot->title);
  plag_text_add(out, "</h4><p>");
  plag_html_prose_add(out, plot->text);
  plag_text_add(out, "</p></figcaption>\n");
  add_legend(out, plot);
  plag_text_add(out, "<div class=\"panels\" role=\"img\" aria-label=\"");
  plag_html_text_add(out, plot->title);
  plag_text_add(out, ". ");
  plag_html_text_add(out, plot->text);
  plag_text_add(out, "\">\n");
  for (size_t i = 0; i < plot->panel_count; i++)
    add_panel(out, plot, i);
  plag_text_add(out, "</div></figure>\n");
}

static void add_steps(plag_text *out, const plag_plots *plots, size_t id, size_t capture) {
  const plag_document *steps = &plots->steps;
  plag_text_add_format(out, "<section class=\"steps\"><h4 id=\"steps-%zu-%zu\">", id, capture);
  if (plots->title[0] != '\0') {
    plag_html_prose_add(out, plots->title);
    plag_text_add(out, ": ");
  }
  plag_html_prose_add(out, steps->block[0].label);
  plag_text_add_format(out,
                       "</h4>\n<div class=\"table\" tabindex=\"0\" role=\"region\" "
                       "aria-labelledby=\"steps-%zu-%zu valve-%zu\" data-plot=\"",
                       id, capture, id);
  plag_html_plot_id(out, PLAG_PLOT_TIME, id, capture);
  plag_text_add(out, "\">");
  const size_t rows = plag_html_table_add(out, steps, 0);
  plag_text_add(out, "</div>\n");
  for (size_t i = rows; i < steps->count; i++) {
    plag_text_add(out, "<p>");
    plag_html_prose_add(out, steps->block[i].text);
    plag_text_add(out, "</p>\n");
  }
  plag_text_add(out, "</section>\n");
}

void plag_html_plots_add(plag_text *out, const plag_plots *plots, size_t count, size_t id) {
  plag_text_add_format(out, "<div class=\"pictures %s\">\n", count > 1 ? "several" : "one");
  for (int kind = 0; kind < PLAG_PLOT_KINDS; kind++) {
    size_t drawn = 0;
    for (size_t i = 0; i < count; i++)
      drawn += plots[i].plot[kind].panel_count > 0 && !plots[i].plot[kind].is_empty;
    for (size_t i = 0; i < count && drawn > 0; i++)
      if (plots[i].plot[kind].panel_count > 0)
        add_figure(out, &plots[i], (plag_plot_kind)kind, id, i);
      else
        plag_text_add(out,
                      "<div class=\"nothing\"></div>\n"); /* keeps the others in their column */
  }
  for (size_t i = 0; i < count; i++)
    if (plots[i].steps.count > 0)
      add_steps(out, &plots[i], id, i);
    else if (count > 1)
      plag_text_add(out, "<div class=\"nothing\"></div>\n");
  plag_text_add(out, "</div>\n");
}
