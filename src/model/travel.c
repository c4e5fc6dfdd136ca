/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the plates went: ends of the travel, where they rest when the command asks for an end, and
 * whether that is the stop. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/changes.h"
#include "model/course.h"
#include "model/even_sample.h"
#include "model/workspace.h"

#define MOST_KEPT     8192
#define VISIT_BINS    20
#define VISIT_SAMPLES 2
#define ASKED_S       1.0  /* a command at its end for so long was time enough */
#define END_SHARE     0.05 /* of the command's span */

static double travel_at(const platelag_trace *trace, size_t sample) {
  return platelag_trace_travel_pct(trace, trace->level[sample]);
}

static bool is_void(const plag_model *model, size_t sample) {
  return platelag_mode_is_void((platelag_mode)model->mode[sample]);
}

/* Where valid readings lie. */
static platelag_status measure_span(plag_model *model, platelag_error *error) {
  platelag_travel *travel = &model->fit->travel;
  uint32_t visit[VISIT_BINS] = {0};
  plag_even_sample all = {0};
  if (!plag_even_sample_begin(&all, model->workspace, MOST_KEPT))
    return plag_error_memory(error, "the travel of a trace");
  for (size_t i = 0; i < model->trace->sample_count; i++) {
    if (is_void(model, i))
      continue;
    const double pct = travel_at(model->trace, i);
    plag_even_sample_add(&all, pct);
    if (pct >= 0.0 && pct < 100.0)
      visit[(int)(pct * VISIT_BINS / 100.0)]++;
  }
  travel->lowest_pct = plag_quantile(all.value, all.count, 0.01);
  travel->highest_pct = plag_quantile(all.value, all.count, 0.99);
  size_t visited = 0;
  for (int k = 0; k < VISIT_BINS; k++)
    visited += visit[k] >= VISIT_SAMPLES;
  travel->visited_share = (double)visited / VISIT_BINS;
  return PLATELAG_OK;
}

/* Valid readings, settled with the command at its ends. */
typedef struct rests {
  plag_even_sample at_lowest, at_highest;
} rests;

/* What is settled: the command stood for a second and three time constants. */
static void gather_segment(const plag_model *model, size_t index, double settled_s, rests *out) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const double near = END_SHARE * (trace->command_highest - trace->command_lowest);
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double command = segment->command_at_start;
  int64_t since_ns = segment->from_ns;
  for (size_t k = 0; k < segment->sample_count; k++) {
    const size_t i = segment->first_sample + k;
    for (; changes.at_ns <= trace->time_ns[i]; plag_changes_advance(&changes)) {
      if (fabs(changes.change.to - command) > near)
        since_ns = changes.at_ns;
      command = changes.change.to;
    }
    if (platelag_seconds(trace->time_ns[i] - since_ns) < settled_s || is_void(model, i))
      continue;
    if (command <= trace->command_lowest + near)
      plag_even_sample_add(&out->at_lowest, travel_at(trace, i));
    if (command >= trace->command_highest - near)
      plag_even_sample_add(&out->at_highest, travel_at(trace, i));
  }
}

static void report_rests(plag_model *model, rests *seen) {
  platelag_travel *travel = &model->fit->travel;
  const bool rising = model->fit->map_rising;
  plag_even_sample *closed = rising ? &seen->at_lowest : &seen->at_highest;
  plag_even_sample *open = rising ? &seen->at_highest : &seen->at_lowest;
  travel->closed_asked = closed->count > 0;
  travel->open_asked = open->count > 0;
  travel->rest_closed_pct = plag_median(closed->value, closed->count);
  travel->rest_open_pct = plag_median(open->value, open->count);
  const double near = model->spec->short_travel_limit_pct;
  travel->closed_stop_reached = travel->rest_closed_pct <= near;
  travel->open_stop_reached = travel->rest_open_pct >= 100.0 - near;
}

platelag_status plag_travel_measure_rests(plag_model *model, platelag_error *error) {
  const size_t mark = plag_workspace_mark(model->workspace);
  rests seen = {0};
  if (!plag_even_sample_begin(&seen.at_lowest, model->workspace, MOST_KEPT) ||
      !plag_even_sample_begin(&seen.at_highest, model->workspace, MOST_KEPT))
    return plag_error_memory(error, "the travel of a trace");
  const plag_lag_point lag = plag_lag_point_of(model->fit);
  const double settled_s =
      fmax(ASKED_S, lag.dead_time_s + 3.0 * fmax(lag.tau_open_s, lag.tau_close_s));
  for (size_t s = 0; s < model->trace->segment_count; s++)
    gather_segment(model, s, settled_s, &seen);
  report_rests(model, &seen);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}

platelag_status plag_travel_measure(plag_model *model, platelag_error *error) {
  const platelag_trace *trace = model->trace;
  platelag_travel *travel = &model->fit->travel;
  travel->scale = trace->scale;
  travel->closed_level = trace->closed_level;
  travel->open_level = trace->open_level;
  travel->closed_v = trace->closed_level * trace->volts_per_level;
  travel->open_v = trace->open_level * trace->volts_per_level;
  const size_t mark = plag_workspace_mark(model->workspace);
  const platelag_status status = measure_span(model, error);
  plag_workspace_release(model->workspace, mark);
  return status == PLATELAG_OK ? plag_travel_measure_rests(model, error) : status;
}
