/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The line between two stops for a map that was fitted to the whole record: its few knots lie where
 * the command changed most, not where the line meets a stop. What came to rest while the command
 * stood says where that is. */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/changes.h"
#include "model/course.h"
#include "model/map.h"
#include "model/workspace.h"

#define MOST_POINTS  2048
#define LEAST_POINTS 24
#define RESTS_SHARE  0.015 /* of the command's range: a command that moves by less stands */
#define NEAR_STOP    0.06  /* of the span: knots this near to an end belong to it */
#define LEAST_SLOPES 1
#define LEAST_GAP    0.02 /* of the command's range, between knots */
#define RESTS_TAUS   4.0  /* first order is within 2 % of its end by then */

typedef struct rest {
  double from_command; /* when it began to stand */
  int64_t since_ns;
} rest;

/* Settled readings of a segment, one a time that the plates need to settle. */
static size_t gather_segment(const plag_model *model, size_t index, int64_t settle_ns,
                             plag_map_point *point, size_t room) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const double wiggle = RESTS_SHARE * (trace->command_highest - trace->command_lowest);
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double command = segment->command_at_start;
  rest now = {command, segment->from_ns};
  size_t count = 0;
  for (size_t i = segment->first_sample;
       i < segment->first_sample + segment->sample_count && count < room; i++) {
    const int64_t at_ns = trace->time_ns[i];
    for (; changes.at_ns != INT64_MAX && changes.change.after_ns < at_ns;
         plag_changes_advance(&changes)) {
      command = changes.change.to;
      if (!(fabs(command - now.from_command) <= wiggle))
        now = (rest){command, changes.change.by_ns};
    }
    if (at_ns - now.since_ns < settle_ns || platelag_mode_is_void((platelag_mode)model->mode[i]) ||
        isnan(command))
      continue;
    point[count++] =
        (plag_map_point){command, platelag_trace_travel_pct(trace, trace->level[i]), 1.0};
    now.since_ns = at_ns;
  }
  return count;
}

/* Puts a knot at `command`, in order. */
static void insert_knot(platelag_fit *fit, double command, double pct) {
  size_t at = 0;
  while (at < fit->map_knots && fit->map_command[at] < command)
    at++;
  const size_t behind = fit->map_knots - at;
  memmove(&fit->map_command[at + 1], &fit->map_command[at], behind * sizeof fit->map_command[0]);
  memmove(&fit->map_pct[at + 1], &fit->map_pct[at], behind * sizeof fit->map_pct[0]);
  fit->map_command[at] = command;
  fit->map_pct[at] = pct;
  fit->map_knots++;
}

/* Whether a knot lies between the stops. */
static bool is_between(const platelag_fit *fit, size_t knot) {
  const double low = fmin(fit->map_pct[0], fit->map_pct[fit->map_knots - 1]);
  const double high = fmax(fit->map_pct[0], fit->map_pct[fit->map_knots - 1]);
  const double near = NEAR_STOP * (high - low);
  return fit->map_pct[knot] > low + near && fit->map_pct[knot] < high - near;
}

/* Median slope of the knots between the stops; NaN for too few. */
static double slope_between(const platelag_fit *fit) {
  double slope[PLATELAG_MAP_KNOTS];
  size_t count = 0;
  for (size_t k = 1; k < fit->map_knots; k++)
    if (is_between(fit, k - 1) && is_between(fit, k))
      slope[count++] =
          (fit->map_pct[k] - fit->map_pct[k - 1]) / (fit->map_command[k] - fit->map_command[k - 1]);
  return count < LEAST_SLOPES ? NAN : plag_median(slope, count);
}

/* A drive against a spring asks for a straight line up to the stop: between the last knot before a
 * stop and the next, which may lie far beyond the corner, the line goes on until it is there. */
static void open_corner(platelag_fit *fit, bool upper, double slope) {
  const size_t last = fit->map_knots - 1;
  size_t from = upper ? last : 0;
  while (!is_between(fit, from) && from != (upper ? 0 : last))
    from = upper ? from - 1 : from + 1;
  if (from == (upper ? last : 0) || !is_between(fit, from))
    return;
  const size_t to = upper ? from + 1 : from - 1;
  const double corner = fit->map_command[from] + (fit->map_pct[to] - fit->map_pct[from]) / slope;
  const double margin = LEAST_GAP * (fit->map_command[last] - fit->map_command[0]);
  if (upper ? corner > fit->map_command[from] + margin && corner < fit->map_command[to] - margin
            : corner < fit->map_command[from] - margin && corner > fit->map_command[to] + margin)
    insert_knot(fit, corner, fit->map_pct[to]);
}

void plag_map_open_corners(platelag_fit *fit) {
  if (fit->map_knots < 2)
    return;
  const double slope = slope_between(fit);
  const double span = fit->map_pct[fit->map_knots - 1] - fit->map_pct[0];
  if (!(slope * span > 0)) /* NaN: no */
    return;
  for (int upper = 0; upper < 2; upper++)
    if (fit->map_knots < PLATELAG_MAP_KNOTS)
      open_corner(fit, upper, slope);
}

platelag_status plag_map_straighten(plag_model *model, platelag_error *error) {
  const platelag_trace *trace = model->trace;
  platelag_fit *fit = model->fit;
  model->straight = false;
  if (trace->command_kind != PLATELAG_COMMAND_DUTY || fit->map_knots < 2 ||
      fit->lag.opening_tau_s.known == PLATELAG_KNOWN_NOTHING)
    return PLATELAG_OK;
  const plag_lag_point lag = plag_lag_point_of(fit);
  const double settle_s =
      lag.dead_time_s + RESTS_TAUS * fmax(lag.tau_open_s, lag.tau_close_s) + trace->row_period_s;
  const size_t mark = plag_workspace_mark(model->workspace);
  plag_map_point *point = plag_workspace_take(model->workspace, MOST_POINTS, sizeof *point);
  if (!point)
    return plag_error_memory(error, "settled readings");
  size_t count = 0;
  for (size_t s = 0; s < trace->segment_count; s++)
    count +=
        gather_segment(model, s, (int64_t)(settle_s * 1e9), point + count, MOST_POINTS - count);
  model->straight = count >= LEAST_POINTS && plag_map_try_hinge(fit, trace, point, count);
  if (!model->straight)
    plag_map_open_corners(fit);
  plag_map_finish(fit);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
