/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Closed loop. Where a controller moves the duty until the position fits, the duty answers the
 * position: a move of the plates is followed by a move of the duty the other way, and position is
 * no function of duty. In an open loop nothing of the duty depends on where the plates were. */
#include "model/loop.h"

#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/changes.h"
#include "model/workspace.h"

#define GRID_S         0.5
#define LEAST_POINTS   60
#define FEEDBACK       (-0.25) /* correlation from here down is feedback */
#define EXPLAINED      0.5     /* of the position's variance by duty, at most, in a closed loop */
#define LEAST_SPAN_PCT 10.0
#define MOST_HELD      4096

/* Sums of a correlation. */
typedef struct pairs {
  double count, x, y, xx, yy, xy;
} pairs;

static void add_pair(pairs *sums, double x, double y) {
  sums->count += 1.0;
  sums->x += x;
  sums->y += y;
  sums->xx += x * x;
  sums->yy += y * y;
  sums->xy += x * y;
}

static double correlation_of(const pairs *sums) {
  if (sums->count < LEAST_POINTS)
    return NAN;
  const double xx = sums->xx - sums->x * sums->x / sums->count;
  const double yy = sums->yy - sums->y * sums->y / sums->count;
  const double xy = sums->xy - sums->x * sums->y / sums->count;
  return xx > 0.0 && yy > 0.0 ? xy / sqrt(xx * yy) : NAN;
}

/* On a grid of half seconds: the plates' move over one step against the duty's over the next. */
static void walk_segment(const plag_model *model, size_t index, pairs *sums) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double command = segment->command_at_start;
  double travel[2] = {NAN, NAN}; /* one grid point back, two back */
  double command_before = NAN;
  int64_t grid_ns = segment->from_ns;
  for (size_t k = 0; k < segment->sample_count; k++) {
    const size_t i = segment->first_sample + k;
    for (; changes.at_ns <= trace->time_ns[i]; plag_changes_advance(&changes))
      command = changes.change.to;
    if (trace->time_ns[i] < grid_ns || platelag_mode_is_void((platelag_mode)model->mode[i]))
      continue;
    grid_ns = trace->time_ns[i] + (int64_t)(GRID_S * 1e9);
    const double moved = travel[0] - travel[1];
    const double duty_moved = command - command_before;
    if (isfinite(moved) && isfinite(duty_moved))
      add_pair(sums, moved, duty_moved);
    travel[1] = travel[0];
    travel[0] = platelag_trace_travel_pct(trace, trace->level[i]);
    command_before = command;
  }
}

platelag_status plag_loop_look(plag_model *model, platelag_error *error) {
  (void)error;
  platelag_fit *fit = model->fit;
  fit->loop = (platelag_loop){.lead_correlation = NAN, .effort_while_held_pct = NAN};
  if (model->trace->command_kind != PLATELAG_COMMAND_DUTY)
    return PLATELAG_OK;
  pairs sums = {0};
  for (size_t s = 0; s < model->trace->segment_count; s++)
    walk_segment(model, s, &sums);
  const double correlation = correlation_of(&sums);
  fit->loop.lead_correlation = fit->map_rising ? correlation : -correlation;
  const double left = fit->free.rms_pct / fit->constant.rms_pct;
  const bool explained = isfinite(left) && 1.0 - left * left > EXPLAINED;
  /* Whichever way the duty opens, feedback goes against the plates; the map's own direction may be
   * wrong in a closed loop, so the sign is taken as it is for a duty that opens. */
  fit->loop.closed = !explained && fit->coverage.position_span_pct >= LEAST_SPAN_PCT &&
                     fabs(correlation) >= -FEEDBACK && fit->loop.lead_correlation <= FEEDBACK;
  return PLATELAG_OK;
}

/* The channel's value at a time: its last sample; NaN before the first. */
static double value_at(const platelag_channel *channel, int64_t at_ns) {
  size_t low = 0;
  size_t high = channel->count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (channel->time_ns[middle] <= at_ns)
      low = middle + 1;
    else
      high = middle;
  }
  while (low > 0 && isnan(channel->value[low - 1]))
    low--;
  return low > 0 ? channel->value[low - 1] : NAN;
}

platelag_status plag_loop_measure_effort(plag_model *model, platelag_error *error) {
  platelag_fit *fit = model->fit;
  const platelag_channel *effort = model->trace->effort;
  if (!effort || effort->count == 0 || fit->held_count == 0)
    return PLATELAG_OK;
  const size_t mark = plag_workspace_mark(model->workspace);
  double *climb = plag_workspace_take(model->workspace, MOST_HELD, sizeof climb[0]);
  if (!climb)
    return plag_error_memory(error, "the effort while plates hold");
  const size_t stride = fit->held_count / MOST_HELD + 1;
  size_t count = 0;
  for (size_t k = 0; k < fit->held_count; k += stride) {
    const platelag_held *held = &fit->held[k];
    const double rise = value_at(effort, held->to_ns) - value_at(effort, held->from_ns);
    if (isfinite(rise))
      climb[count++] = held->pull_pct > 0.0 ? rise : -rise;
  }
  fit->loop.effort_while_held_pct = plag_median(climb, count);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
