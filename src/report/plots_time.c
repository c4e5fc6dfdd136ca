/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Command and position over time: the position with the travel that the command asks for in one
 * panel, so that plates which hold are seen as the gap between the two; the command as recorded
 * below; held and void spans over both. */
#include "report/plots.h"

#include <math.h>

/* The position as drawn, with a gap between segments. */
static void add_position(plag_document *document, const platelag_trace *trace,
                         plag_plot_panel *panel) {
  const size_t room = trace->sample_count + trace->segment_count;
  double *x = plag_plot_array(document, room), *y = plag_plot_array(document, room);
  if (x == NULL || y == NULL)
    return;
  plag_plot_line *line =
      plag_plot_add_line(panel, PLAG_LOOK_POSITION, PLAG_STROKE_LINE, "position");
  for (size_t s = 0; s < trace->segment_count; s++) {
    const platelag_trace_segment *segment = &trace->segment[s];
    const size_t end = segment->first_sample + segment->sample_count;
    for (size_t i = segment->first_sample; i < end; i++) {
      x[line->count] = platelag_seconds(trace->time_ns[i]);
      y[line->count++] = plag_plot_position(trace, trace->level[i]);
    }
    x[line->count] = platelag_seconds(segment->to_ns);
    y[line->count++] = NAN;
  }
  line->x = x;
  line->y = y;
}

/* The command in its own unit, from change to change, with a gap between segments. */
static void add_command(plag_document *document, const platelag_trace *trace,
                        plag_plot_panel *panel) {
  const size_t room = trace->change_count + 3 * trace->segment_count;
  double *x = plag_plot_array(document, room), *y = plag_plot_array(document, room);
  if (x == NULL || y == NULL)
    return;
  plag_plot_line *line = plag_plot_add_line(panel, PLAG_LOOK_COMMAND, PLAG_STROKE_STEPS,
                                            plag_plot_channel_label(document, trace->command));
  for (size_t s = 0; s < trace->segment_count; s++) {
    const platelag_trace_segment *segment = &trace->segment[s];
    double command = segment->command_at_start;
    x[line->count] = platelag_seconds(segment->from_ns);
    y[line->count++] = command;
    for (size_t i = 0; i < segment->change_count; i++) {
      const platelag_command_change change =
          platelag_trace_change_at(trace, segment->first_change + i);
      command = change.to;
      x[line->count] = platelag_seconds(change.by_ns);
      y[line->count++] = command;
    }
    x[line->count] = platelag_seconds(segment->to_ns);
    y[line->count++] = command;
    x[line->count] = platelag_seconds(segment->to_ns);
    y[line->count++] = NAN;
  }
  line->x = x;
  line->y = y;
}

/* The same as the travel asked for; none in a closed loop, where position is no function of it. */
static void add_asked(plag_document *document, const platelag_review_valve *valve,
                      const plag_plot_line *command, plag_plot_panel *panel) {
  const platelag_trace *trace = valve->trace;
  if (valve->fit->loop.closed || !plag_plot_in_travel(trace) ||
      isnan(platelag_fit_target_pct(valve->fit, trace, trace->command_lowest)))
    return;
  double *y = plag_plot_array(document, command->count);
  if (y == NULL)
    return;
  for (size_t i = 0; i < command->count; i++)
    y[i] = platelag_fit_target_pct(valve->fit, trace, command->y[i]);
  plag_plot_line *line =
      plag_plot_add_line(panel, PLAG_LOOK_ASKED, PLAG_STROKE_STEPS, "asked for by the command");
  line->count = command->count;
  line->x = command->x;
  line->y = y;
}

/* The duty beside a desired position: it climbs while plates hold. */
static void add_effort(plag_document *document, const platelag_channel *effort,
                       plag_plot_panel *panel) {
  double *x = plag_plot_array(document, effort->count);
  if (x == NULL)
    return;
  plag_plot_line *line = plag_plot_add_line(panel, PLAG_LOOK_EFFORT, PLAG_STROKE_STEPS,
                                            plag_plot_channel_label(document, effort));
  for (size_t i = 0; i < effort->count; i++)
    x[i] = platelag_seconds(effort->time_ns[i]);
  line->count = effort->count;
  line->x = x;
  line->y = effort->value;
}

/* A hand turns the shaft past its stops, and with it the reading past its limits: no reading lost.
 */
static bool is_marked(platelag_mode mode, platelag_condition condition) {
  const bool rail = mode == PLATELAG_MODE_RAIL_LOW || mode == PLATELAG_MODE_RAIL_HIGH;
  return platelag_mode_is_void(mode) && !(rail && condition == PLATELAG_CONDITION_HAND_SWEEP);
}

static void add_spans(plag_document *document, const platelag_fit *fit,
                      platelag_condition condition, plag_plot *plot) {
  plag_plot_span *span =
      plag_arena_take_array(&document->arena, fit->held_count + fit->span_count + 1, sizeof *span);
  if (span == NULL) {
    document->failed = true;
    return;
  }
  plot->span = span;
  for (size_t i = 0; i < fit->held_count; i++)
    span[plot->span_count++] =
        (plag_plot_span){PLAG_LOOK_HELD, platelag_seconds(fit->held[i].from_ns),
                         platelag_seconds(fit->held[i].to_ns)};
  for (size_t i = 0; i < fit->span_count; i++)
    if (is_marked(fit->span[i].mode, condition))
      span[plot->span_count++] =
          (plag_plot_span){PLAG_LOOK_VOID, platelag_seconds(fit->span[i].from_ns),
                           platelag_seconds(fit->span[i].to_ns)};
  if (fit->held_count > 0)
    plot->span_name[PLAG_LOOK_HELD] = "held: pulled, and not moving";
  if (plot->span_count > fit->held_count)
    plot->span_name[PLAG_LOOK_VOID] = "past a limit, lost or jumping";
}

static void set_time_axis(const platelag_trace *trace, plag_plot *plot) {
  plot->x = (plag_axis){.label = "time (min:s)", .is_time = true};
  if (trace->segment_count == 0)
    return;
  plot->x.from = platelag_seconds(trace->segment[0].from_ns);
  plot->x.to = platelag_seconds(trace->segment[trace->segment_count - 1].to_ns);
  if (!(plot->x.to > plot->x.from))
    plot->x.to = plot->x.from + 1;
}

void plag_plot_time(plag_document *document, const platelag_review_valve *valve, plag_plot *plot) {
  const platelag_trace *trace = valve->trace;
  if (trace->sample_count == 0)
    return;
  const bool has_command = trace->command != NULL && trace->command_kind != PLATELAG_COMMAND_ABSENT;
  plot->title = has_command ? "Command and position over time" : "Position over time";
  set_time_axis(trace, plot);
  plag_plot_panel *upper = plag_plot_add_panel(plot, plag_plot_position_label(trace), false);
  if (has_command) {
    plag_plot_panel *lower =
        plag_plot_add_panel(plot, plag_plot_channel_label(document, trace->command), true);
    add_command(document, trace, lower);
    if (lower->line_count > 0)
      add_asked(document, valve, &lower->line[0], upper);
    plag_plot_frame_channel(lower, trace->command);
  }
  add_position(document, trace, upper);
  plag_plot_frame_positions(document, upper, valve);
  if (trace->effort != NULL && trace->effort->count > 0) {
    plag_plot_panel *effort =
        plag_plot_add_panel(plot, plag_plot_channel_label(document, trace->effort), true);
    add_effort(document, trace->effort, effort);
    plag_plot_frame_channel(effort, trace->effort);
  }
  add_spans(document, valve->fit, valve->trace->condition, plot);
  for (size_t p = 0; p < plot->panel_count; p++)
    for (size_t i = 0; i < plot->panel[p].line_count; i++)
      plag_plot_thin(document, &plot->panel[p].line[i]);
  plot->text = upper->line_count > 1
                   ? "Free plates stay close behind what the command asks for; plates that stick "
                     "stand while it moves on."
                   : "What the recorder saw.";
}
