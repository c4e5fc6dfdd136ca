/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction_record.h"

#include <math.h>

#include "core/error.h"
#include "model/course.h"

#define MOST_SAMPLES    1600 /* where plates were held */
#define FEW_SAMPLES     1000 /* where nothing speaks for friction */
#define FIRST_SAMPLES   4    /* tell whether a stretch begins in motion */
#define STRETCHES       4
#define MOST_STRETCHES  64 /* segments may cut them */
#define EVENTS_A_SAMPLE 2
#define LIVELY_TAUS     5.0 /* after a change samples count while the plates may move */
#define LIVELY_SPACING  0.4 /* of tau */
#define UNKNOWN_TAU_S   0.15
#define REST_SPACING_S  1.0 /* later one now and then */
#define LEAD_S          2.0 /* commands before the first sample that a dead time may delay */

typedef struct filler {
  const plag_model *model;
  plag_stiction_record *record;
  bool on_rows;
  double lively_s, lively_spacing_s;
  size_t most_samples, most_events;
} filler;

static void fill_stretch(const filler *f, size_t segment_index, size_t first, size_t end) {
  const platelag_trace *trace = f->model->trace;
  plag_stiction_record *record = f->record;
  plag_changes changes;
  plag_changes_begin(&changes, trace, segment_index, 0.0, f->on_rows);
  plag_stretch stretch = {.first_sample = record->sample_count,
                          .first_event = record->event_count,
                          .command_at_start = trace->segment[segment_index].command_at_start};
  const int64_t lead_ns = trace->time_ns[first] - (int64_t)llround(LEAD_S * 1e9);
  for (; changes.at_ns <= lead_ns; plag_changes_advance(&changes))
    stretch.command_at_start = changes.change.to;
  double changed_s = platelag_seconds(trace->time_ns[first]);
  double kept_s = -INFINITY;
  for (size_t i = first; i < end && record->sample_count < f->most_samples; i++) {
    for (; changes.at_ns <= trace->time_ns[i] && record->event_count < f->most_events;
         plag_changes_advance(&changes)) {
      changed_s = platelag_seconds(changes.at_ns);
      record->event_s[record->event_count] = changed_s;
      record->event_command[record->event_count++] = changes.change.to;
    }
    const double now_s = platelag_seconds(trace->time_ns[i]);
    if (platelag_mode_is_void((platelag_mode)f->model->mode[i]) ||
        now_s - kept_s < (now_s - changed_s <= f->lively_s ? f->lively_spacing_s : REST_SPACING_S))
      continue;
    kept_s = now_s;
    record->time_s[record->sample_count] = now_s;
    record->travel_pct[record->sample_count++] = platelag_trace_travel_pct(trace, trace->level[i]);
  }
  stretch.sample_count = record->sample_count - stretch.first_sample;
  stretch.event_count = record->event_count - stretch.first_event;
  if (stretch.sample_count > FIRST_SAMPLES) {
    const double *travel = record->travel_pct + stretch.first_sample;
    const double moved = travel[FIRST_SAMPLES] - travel[0];
    if (fabs(moved) > 3.0 * f->model->noise_pct)
      stretch.direction_at_start = moved > 0.0 ? 1 : -1;
  }
  if (stretch.sample_count > 1 && !isnan(stretch.command_at_start))
    record->stretch[record->stretch_count++] = stretch;
  else
    record->sample_count = stretch.first_sample;
}

/* [first, end) of the trace's samples, cut at segments. */
static void fill_range(const filler *f, size_t first, size_t end) {
  const platelag_trace *trace = f->model->trace;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const size_t from = trace->segment[s].first_sample;
    const size_t to = from + trace->segment[s].sample_count;
    const size_t begin = first > from ? first : from;
    const size_t stop = end < to ? end : to;
    if (begin < stop && f->record->stretch_count < MOST_STRETCHES)
      fill_stretch(f, s, begin, stop);
  }
}

static bool take_arrays(plag_model *model, plag_stiction_record *record, size_t samples,
                        size_t events) {
  platelag_workspace *workspace = model->workspace;
  record->time_s = plag_workspace_take(workspace, samples, sizeof(double));
  record->travel_pct = plag_workspace_take(workspace, samples, sizeof(double));
  record->predicted_pct = plag_workspace_take(workspace, samples, sizeof(double));
  record->spread_pct2 = plag_workspace_take(workspace, samples, sizeof(double));
  record->event_s = plag_workspace_take(workspace, events, sizeof(double));
  record->event_pct = plag_workspace_take(workspace, events, sizeof(double));
  record->event_command = plag_workspace_take(workspace, events, sizeof(double));
  record->moment = plag_workspace_take(workspace, samples + events, sizeof(plag_moment));
  record->stretch = plag_workspace_take(workspace, MOST_STRETCHES, sizeof(plag_stretch));
  return record->time_s && record->travel_pct && record->predicted_pct && record->spread_pct2 &&
         record->event_s && record->event_pct && record->event_command && record->moment &&
         record->stretch;
}

/* Without steps the response's lag may be friction in truth: neither its dead time nor the spacing
 * of samples that its tau allows. */
static plag_lag_point lag_to_begin_with(const platelag_fit *fit) {
  if (fit->steps_in_trace >= PLAG_STEPS_FOR_LAG)
    return plag_lag_point_of(fit);
  return (plag_lag_point){0.0, UNKNOWN_TAU_S, UNKNOWN_TAU_S};
}

platelag_status plag_friction_record_build(plag_model *model, plag_stiction_record *record,
                                           platelag_error *error) {
  const platelag_trace *trace = model->trace;
  const plag_lag_point lag = lag_to_begin_with(model->fit);
  const bool on_rows =
      model->fit->lag.command_on_rows && model->fit->steps_in_trace >= PLAG_STEPS_FOR_LAG;
  *record = (plag_stiction_record){
      .dead_time_s = lag.dead_time_s,
      .tau_open_s = lag.tau_open_s,
      .tau_close_s = lag.tau_close_s,
      .timing_share = on_rows ? 0.0 : 1.0 / sqrt(12.0),
  };
  const size_t samples = model->fit->held_count > 0 || trace->sample_count <= MOST_SAMPLES
                             ? MOST_SAMPLES
                             : FEW_SAMPLES;
  filler f = {
      .model = model,
      .record = record,
      .on_rows = on_rows,
      .lively_s = lag.dead_time_s + LIVELY_TAUS * fmax(lag.tau_open_s, lag.tau_close_s) +
                  2.0 * trace->row_period_s,
      .lively_spacing_s = LIVELY_SPACING * fmin(lag.tau_open_s, lag.tau_close_s),
      .most_samples = samples,
      .most_events = samples * EVENTS_A_SAMPLE,
  };
  if (!take_arrays(model, record, samples, samples * EVENTS_A_SAMPLE))
    return plag_error_memory(error, "the friction of a trace");
  const size_t stretches = trace->sample_count <= samples ? 1 : STRETCHES;
  const size_t share = trace->sample_count / stretches + 1;
  for (size_t k = 0; k < stretches; k++) {
    f.most_samples = samples * (k + 1) / stretches;
    f.most_events = f.most_samples * EVENTS_A_SAMPLE;
    fill_range(&f, k * share, (k + 1) * share);
  }
  plag_stiction_order(record);
  return PLATELAG_OK;
}

void plag_friction_record_lag(plag_stiction_record *record, plag_lag_point lag) {
  record->dead_time_s = lag.dead_time_s;
  record->tau_open_s = lag.tau_open_s;
  record->tau_close_s = lag.tau_close_s;
  plag_stiction_order(record);
}

static double target_pct(const plag_model *model, plag_friction_map map, double command) {
  const platelag_trace *trace = model->trace;
  if (map == PLAG_FRICTION_MAP_FITTED)
    return plag_model_target_pct(model->fit, trace, command);
  if (map == PLAG_FRICTION_MAP_EQUAL)
    return model->fit->map_rising ? command : 100.0 - command;
  const double share =
      (command - trace->command_lowest) / (trace->command_highest - trace->command_lowest);
  const platelag_travel *travel = &model->fit->travel;
  const double way = travel->highest_pct - travel->lowest_pct;
  return model->fit->map_rising ? travel->lowest_pct + share * way
                                : travel->highest_pct - share * way;
}

void plag_friction_record_map(const plag_model *model, plag_stiction_record *record,
                              plag_friction_map map) {
  record->edition++;
  for (size_t s = 0; s < record->stretch_count; s++)
    record->stretch[s].target_at_start_pct =
        target_pct(model, map, record->stretch[s].command_at_start);
  for (size_t k = 0; k < record->event_count; k++)
    record->event_pct[k] = target_pct(model, map, record->event_command[k]);
}
