/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The loop: position over command. Free plates trace one line there and back; friction opens it to
 * a loop as wide as the pull that held plates stand; plates that stand still draw a level line. */
#include "report/plots.h"

#include <math.h>

enum { CURVE_POINTS = 65 };

/* Walks the command along the samples: its value at a time, held from change to change. */
typedef struct held_command {
  const platelag_trace *trace;
  size_t next, end;
  double value;
} held_command;

static double command_at(held_command *walk, int64_t time_ns) {
  while (walk->next < walk->end) {
    const platelag_command_change change = platelag_trace_change_at(walk->trace, walk->next);
    if (change.by_ns > time_ns)
      break;
    walk->value = change.to;
    walk->next++;
  }
  return walk->value;
}

static void add_track(plag_document *document, const platelag_trace *trace,
                      plag_plot_panel *panel) {
  const size_t room = trace->sample_count + trace->segment_count;
  double *x = plag_plot_array(document, room), *y = plag_plot_array(document, room);
  if (x == NULL || y == NULL)
    return;
  plag_plot_line *line =
      plag_plot_add_line(panel, PLAG_LOOK_POSITION, PLAG_STROKE_TRACK, "position");
  for (size_t s = 0; s < trace->segment_count; s++) {
    const platelag_trace_segment *segment = &trace->segment[s];
    held_command walk = {trace, segment->first_change,
                         segment->first_change + segment->change_count, segment->command_at_start};
    const size_t end = segment->first_sample + segment->sample_count;
    for (size_t i = segment->first_sample; i < end; i++) {
      x[line->count] = command_at(&walk, trace->time_ns[i]);
      y[line->count++] = plag_plot_position(trace, trace->level[i]);
    }
    x[line->count] = walk.value;
    y[line->count++] = NAN;
  }
  line->x = x;
  line->y = y;
}

/* The map of the fit, moved up or down by `shift_pct`. */
static void add_curve(plag_document *document, const platelag_review_valve *valve,
                      plag_plot_panel *panel, plag_look look, const char *name, double shift_pct) {
  const platelag_trace *trace = valve->trace;
  double *x = plag_plot_array(document, CURVE_POINTS), *y = plag_plot_array(document, CURVE_POINTS);
  if (x == NULL || y == NULL)
    return;
  const double span = trace->command_highest - trace->command_lowest;
  for (size_t i = 0; i < CURVE_POINTS; i++) {
    x[i] = trace->command_lowest + span * (double)i / (CURVE_POINTS - 1);
    y[i] = fmin(fmax(platelag_fit_target_pct(valve->fit, trace, x[i]) + shift_pct, 0), 100);
  }
  plag_plot_line *line = plag_plot_add_line(panel, look, PLAG_STROKE_TRACK, name);
  line->count = CURVE_POINTS;
  line->x = x;
  line->y = y;
}

static void add_map(plag_document *document, const platelag_review_valve *valve,
                    plag_plot_panel *panel) {
  const platelag_friction *friction = &valve->fit->friction;
  const double band = friction->stick_band_pct.value, jump = friction->slip_jump_pct.value;
  if (friction->stick_band_pct.known == PLATELAG_KNOWN_VALUE &&
      band > valve->spec.stick_band_limit_pct) {
    /* Held plates leave when they are pulled by half of stick band and slip jump together
     * (methods: src/model/stiction.h). */
    const double pull =
        friction->slip_jump_pct.known == PLATELAG_KNOWN_VALUE ? (band + jump) / 2 : band / 2;
    add_curve(document, valve, panel, PLAG_LOOK_BAND, "pulled far enough to let go", pull);
    add_curve(document, valve, panel, PLAG_LOOK_BAND, "", -pull);
  }
  add_curve(document, valve, panel, PLAG_LOOK_ASKED, "where free plates would be", 0);
}

void plag_plot_loop(plag_document *document, const platelag_review_valve *valve, plag_plot *plot) {
  const platelag_trace *trace = valve->trace;
  if (trace->command == NULL || trace->command_kind == PLATELAG_COMMAND_ABSENT ||
      trace->sample_count == 0 || !(trace->command_highest > trace->command_lowest))
    return;
  const double margin = 0.03 * (trace->command_highest - trace->command_lowest);
  plot->title = "Position over command";
  plot->x = (plag_axis){.from = trace->command_lowest - margin,
                        .to = trace->command_highest + margin,
                        .label = plag_plot_channel_label(document, trace->command)};
  plag_plot_panel *panel = plag_plot_add_panel(plot, plag_plot_position_label(trace), false);
  add_track(document, trace, panel);
  const bool has_map = !valve->fit->loop.closed && plag_plot_in_travel(trace) &&
                       !isnan(platelag_fit_target_pct(valve->fit, trace, trace->command_lowest));
  if (has_map)
    add_map(document, valve, panel);
  plag_plot_frame_positions(document, panel, valve);
  plot->text = has_map ? "Free plates go there and back on nearly one line; plates that stick make "
                         "a wide loop with level stretches, where they hold."
                       : "Each reading over the command of its moment.";
}
