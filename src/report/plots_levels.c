/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The readings of the signal against its limits: how often each level was read, void readings
 * included. */
#include "report/plots.h"

#include <math.h>

enum { BINS = 100 };

/* In volts where the unit tells them, else as recorded. */
static double level_of(const platelag_trace *trace, double level) {
  return isnan(trace->volts_per_level) ? level : level * trace->volts_per_level;
}

static void set_axis(const platelag_trace *trace, bool in_volts, plag_axis *axis) {
  *axis = (plag_axis){.from = 0,
                      .to = in_volts ? trace->reference_v : 100,
                      .label = in_volts ? "signal (V)" : "position as recorded (%)"};
  for (size_t i = 0; i < trace->sample_count; i++) {
    const double level = level_of(trace, trace->level[i]);
    if (isfinite(level)) {
      axis->from = fmin(axis->from, level);
      axis->to = fmax(axis->to, level);
    }
  }
  if (in_volts) { /* a little room beside the rails */
    axis->from -= 0.02 * trace->reference_v;
    axis->to += 0.02 * trace->reference_v;
  }
}

static void count_levels(const platelag_trace *trace, const plag_axis *axis, double *share) {
  const double width = (axis->to - axis->from) / BINS;
  for (size_t i = 0; i < trace->sample_count; i++) {
    const double bin = floor((level_of(trace, trace->level[i]) - axis->from) / width);
    share[(size_t)fmin(fmax(bin, 0), BINS - 1)] += 100.0 / (double)trace->sample_count;
  }
}

static void add_limits(plag_document *document, const platelag_review_valve *valve,
                       plag_plot_panel *panel) {
  const double reference_v = valve->trace->reference_v;
  const double limits[] = {valve->spec.low_limit_pct, valve->spec.high_limit_pct};
  for (size_t i = 0; i < 2; i++)
    plag_plot_add_mark(panel, true, true, reference_v * limits[i] / 100,
                       plag_plot_limit_label(document, limits[i], "%"));
  const platelag_travel *travel = &valve->fit->travel;
  if (!plag_plot_in_travel(valve->trace))
    return;
  plag_plot_add_mark(panel, false, true, travel->closed_v, "closed");
  plag_plot_add_mark(panel, false, true, travel->open_v, "open");
}

void plag_plot_levels(plag_document *document, const platelag_review_valve *valve,
                      plag_plot *plot) {
  const platelag_trace *trace = valve->trace;
  if (trace->sample_count == 0)
    return;
  const bool in_volts = isfinite(trace->volts_per_level) && trace->reference_v > 0;
  double *x = plag_plot_array(document, BINS + 1), *y = plag_plot_array(document, BINS + 1);
  if (x == NULL || y == NULL)
    return;
  set_axis(trace, in_volts, &plot->x);
  count_levels(trace, &plot->x, y);
  for (size_t i = 0; i <= BINS; i++)
    x[i] = plot->x.from + (plot->x.to - plot->x.from) * (double)i / BINS;
  plot->title = "Readings of the signal";
  plot->text = in_volts ? "How often each voltage was read. A healthy signal stays between the "
                          "limits, most of the time at the stops."
                        : "How often each position was read. The controller has scaled it, and the "
                          "limits of the signal are hidden.";
  plag_plot_panel *panel = plag_plot_add_panel(plot, "% of readings", false);
  plag_plot_line *line = plag_plot_add_line(panel, PLAG_LOOK_BARS, PLAG_STROKE_BARS, "");
  line->count = BINS + 1;
  line->x = x;
  line->y = y;
  if (in_volts)
    add_limits(document, valve, panel);
  plag_plot_fit_y(panel, 0, 0);
}
