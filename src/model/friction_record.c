/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction_record.h"

#include <math.h>

#include "core/error.h"
#include "core/lesser.h"
#include "model/changes.h"
#include "model/workspace.h"

#define MOST_SAMPLES    4800
#define FIRST_SAMPLES   2 /* later a reading tells whether a stretch begins in motion */
#define STRETCHES       4
#define MOST_STRETCHES  64 /* segments may cut them */
#define EVENTS_A_SAMPLE 3
#define MOST_EVENTS     ((size_t)EVENTS_A_SAMPLE * MOST_SAMPLES)
#define LIVELY_TAUS     5.0 /* after a change samples count while the plates may move */
#define LIVELY_SPACING  0.7 /* of tau: nearer ones say the same, ... */
#define OPEN_SPACING    0.4 /* ... and may be all there is where no steps show tau */
#define UNKNOWN_TAU_S   0.15
#define REST_SPACING_S  1.0 /* later one now and then */
#define LEAD_S          2.0 /* commands before the first sample that a dead time may delay */
#define RAMP_LIKE       2.5 /* a change this many times its neighbour is a step */
#define PIECE_PCT       1.5 /* of travel, that a ramp is cut into */
#define MOST_PIECES     8
#define MAP_SHARE       0.6

typedef struct filler {
  const plag_model *model;
  plag_friction_record *record;
  bool on_rows;
  double lively_s, lively_spacing_s;
  double pct_per_command;
  double ramp_squares, ramp_speeds;
  size_t ramp_rows;
  size_t most_samples, most_events;
} filler;

/* Whether two changes belong to one movement of the command. */
static bool goes_on(const platelag_command_change *one, const platelag_command_change *next) {
  const double first = one->to - one->from;
  const double second = next->to - next->from;
  return one->by_ns == next->after_ns && first * second > 0.0 &&
         fabs(first) < RAMP_LIKE * fabs(second) && fabs(second) < RAMP_LIKE * fabs(first);
}

/* A command that moves on from row to row did so between them too. */
static bool is_ramp(const platelag_trace *trace, size_t index, size_t first, size_t end) {
  const platelag_command_change change = platelag_trace_change_at(trace, index);
  if (index > first) {
    const platelag_command_change before = platelag_trace_change_at(trace, index - 1);
    if (goes_on(&before, &change))
      return true;
  }
  if (index + 1 >= end)
    return false;
  const platelag_command_change after = platelag_trace_change_at(trace, index + 1);
  return goes_on(&change, &after);
}

static void add_event(const filler *f, double at_s, double open_s, double command) {
  plag_friction_record *record = f->record;
  if (record->event_count >= f->most_events)
    return;
  record->event_s[record->event_count] = at_s;
  record->event_open_s[record->event_count] = open_s;
  record->event_command[record->event_count++] = command;
}

static void add_change(filler *f, const plag_changes *changes, size_t first_change) {
  const platelag_command_change *change = &changes->change;
  const double way = change->to - change->from;
  const double open_s = platelag_seconds(change->by_ns - change->after_ns);
  const double size = fabs(way) * f->pct_per_command;
  const bool ramp =
      !f->on_rows && is_ramp(f->model->trace, changes->next, first_change, changes->end);
  if (ramp) {
    f->ramp_squares += size * size;
    f->ramp_speeds += open_s > 0.0 ? size / open_s : 0.0;
    f->ramp_rows++;
  }
  if (!ramp || size <= PIECE_PCT) {
    add_event(f, platelag_seconds(changes->at_ns), f->on_rows ? 0.0 : open_s, change->to);
    return;
  }
  const int pieces = (int)plag_lesser(ceil(size / PIECE_PCT), MOST_PIECES);
  for (int k = 1; k <= pieces; k++)
    add_event(f, platelag_seconds(change->after_ns) + (k - 0.5) / pieces * open_s, open_s / pieces,
              change->from + way * k / pieces);
}

static bool counts(const filler *f, size_t sample, double changed_s, double kept_s) {
  const double now_s = platelag_seconds(f->model->trace->time_ns[sample]);
  const bool lively = now_s - changed_s <= f->lively_s;
  return !platelag_mode_is_void((platelag_mode)f->model->mode[sample]) &&
         now_s - kept_s >= (lively ? f->lively_spacing_s : REST_SPACING_S);
}

/* Where the plates are and whether they move: standing ones at the mean of a few readings. */
static void look_at_start(const filler *f, plag_friction_stretch *stretch) {
  const double *travel = f->record->travel_pct + stretch->first_sample;
  stretch->travel_at_start_pct = travel[0];
  if (stretch->sample_count <= FIRST_SAMPLES)
    return;
  const double moved = travel[FIRST_SAMPLES] - travel[0];
  if (fabs(moved) > 3.0 * f->model->noise_pct) {
    stretch->direction_at_start = moved > 0.0 ? 1 : -1;
    return;
  }
  double sum = 0.0;
  for (size_t i = 0; i <= FIRST_SAMPLES; i++)
    sum += travel[i];
  stretch->travel_at_start_pct = sum / (FIRST_SAMPLES + 1);
}

static void fill_stretch(filler *f, size_t segment_index, size_t first, size_t end) {
  const platelag_trace *trace = f->model->trace;
  const platelag_trace_segment *segment = &trace->segment[segment_index];
  plag_friction_record *record = f->record;
  plag_changes changes;
  plag_changes_begin(&changes, trace, segment_index, 0.0, f->on_rows);
  plag_friction_stretch stretch = {.first_sample = record->sample_count,
                                   .first_event = record->event_count,
                                   .command_at_start = segment->command_at_start};
  const int64_t lead_ns = trace->time_ns[first] - (int64_t)llround(LEAD_S * 1e9);
  for (; changes.at_ns <= lead_ns; plag_changes_advance(&changes))
    stretch.command_at_start = changes.change.to;
  double changed_s = platelag_seconds(trace->time_ns[first]);
  double kept_s = -INFINITY;
  for (size_t i = first; i < end && record->sample_count < f->most_samples; i++) {
    for (; changes.at_ns <= trace->time_ns[i]; plag_changes_advance(&changes)) {
      changed_s = platelag_seconds(changes.at_ns);
      add_change(f, &changes, segment->first_change);
    }
    if (!counts(f, i, changed_s, kept_s))
      continue;
    kept_s = platelag_seconds(trace->time_ns[i]);
    record->time_s[record->sample_count] = kept_s;
    record->travel_pct[record->sample_count++] = platelag_trace_travel_pct(trace, trace->level[i]);
  }
  stretch.sample_count = record->sample_count - stretch.first_sample;
  stretch.event_count = record->event_count - stretch.first_event;
  look_at_start(f, &stretch);
  if (stretch.sample_count > 1 && !isnan(stretch.command_at_start)) {
    record->stretch[record->stretch_count++] = stretch;
  } else {
    record->sample_count = stretch.first_sample;
    record->event_count = stretch.first_event;
  }
}

/* [first, end) of the trace's samples, cut at segments. */
static void fill_range(filler *f, size_t first, size_t end) {
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

static bool take_arrays(plag_model *model, plag_friction_record *record, size_t samples,
                        size_t events) {
  platelag_workspace *workspace = model->workspace;
  double **const of_samples[] = {&record->time_s, &record->travel_pct};
  double **const of_events[] = {&record->event_s, &record->event_open_s, &record->event_command,
                                &record->event_pct};
  bool taken = true;
  for (size_t k = 0; k < sizeof of_samples / sizeof of_samples[0]; k++) {
    *of_samples[k] = plag_workspace_take(workspace, samples, sizeof(double));
    taken = taken && *of_samples[k];
  }
  for (size_t k = 0; k < sizeof of_events / sizeof of_events[0]; k++) {
    *of_events[k] = plag_workspace_take(workspace, events, sizeof(double));
    taken = taken && *of_events[k];
  }
  record->stretch = plag_workspace_take(workspace, MOST_STRETCHES, sizeof(plag_friction_stretch));
  return taken && record->stretch;
}

/* Room for the moments of the record's stretches, in order for a lag. */
static bool take_moments(plag_model *model, plag_friction_record *record, plag_lag_point lag) {
  size_t count = 0;
  for (size_t s = 0; s < record->stretch_count; s++) {
    const plag_friction_stretch *stretch = &record->stretch[s];
    count = stretch->first_sample + stretch->first_event + stretch->sample_count +
            stretch->event_count; /* the last one's */
  }
  record->moment = plag_workspace_take(model->workspace, count, sizeof(plag_moment));
  if (!record->moment)
    return false;
  plag_friction_record_order(record, lag);
  return true;
}

static bool shows_lag(const platelag_fit *fit) {
  return fit->steps_in_trace >= PLAG_STEPS_FOR_LAG;
}

/* Without steps the response's lag may be friction in truth: neither its dead time nor the spacing
 * of samples that its tau allows. */
static plag_lag_point lag_to_begin_with(const platelag_fit *fit) {
  if (shows_lag(fit))
    return plag_lag_point_of(fit);
  return (plag_lag_point){0.0, UNKNOWN_TAU_S, UNKNOWN_TAU_S};
}

platelag_status plag_friction_record_build(plag_model *model, plag_friction_record *record,
                                           platelag_error *error) {
  const platelag_trace *trace = model->trace;
  const plag_lag_point lag = lag_to_begin_with(model->fit);
  *record = (plag_friction_record){0};
  const double command_span = trace->command_highest - trace->command_lowest;
  filler f = {
      .model = model,
      .record = record,
      .on_rows = model->fit->lag.command_on_rows && shows_lag(model->fit),
      .lively_s = lag.dead_time_s + LIVELY_TAUS * plag_greater(lag.tau_open_s, lag.tau_close_s) +
                  2.0 * trace->row_period_s,
      .lively_spacing_s = (shows_lag(model->fit) ? LIVELY_SPACING : OPEN_SPACING) *
                          plag_lesser(lag.tau_open_s, lag.tau_close_s),
      .pct_per_command =
          command_span > 0.0 ? model->fit->coverage.position_span_pct / command_span : 0.0,
  };
  const size_t most_events = trace->change_count < MOST_EVENTS / MOST_PIECES
                                 ? trace->change_count * MOST_PIECES
                                 : MOST_EVENTS;
  if (!take_arrays(model, record,
                   trace->sample_count < MOST_SAMPLES ? trace->sample_count : MOST_SAMPLES,
                   most_events))
    return plag_error_memory(error, "the friction of a trace");
  const size_t stretches = trace->sample_count <= MOST_SAMPLES ? 1 : STRETCHES;
  const size_t share = trace->sample_count / stretches + 1;
  for (size_t k = 0; k < stretches; k++) {
    f.most_samples = (size_t)MOST_SAMPLES * (k + 1) / stretches;
    f.most_events = f.most_samples * EVENTS_A_SAMPLE;
    fill_range(&f, k * share, (k + 1) * share);
  }
  if (f.ramp_rows > 0) {
    record->ramp_pct = sqrt(f.ramp_squares / (double)f.ramp_rows);
    record->ramp_pct_per_s = f.ramp_speeds / (double)f.ramp_rows;
  }
  return take_moments(model, record, lag) ? PLATELAG_OK
                                          : plag_error_memory(error, "the friction of a trace");
}

/* The command at which the fitted map has gone `share` of its way. */
static double command_at(const platelag_fit *fit, double share) {
  const size_t last = fit->map_knots - 1;
  const double level = fit->map_pct[0] + share * (fit->map_pct[last] - fit->map_pct[0]);
  for (size_t k = 1; k <= last; k++) {
    const double from = fit->map_pct[k - 1];
    const double way = fit->map_pct[k] - from;
    if ((level - from) * (level - fit->map_pct[k]) <= 0.0 && way != 0.0)
      return fit->map_command[k - 1] +
             (level - from) / way * (fit->map_command[k] - fit->map_command[k - 1]);
  }
  return fit->map_command[share < 0.5 ? 0 : last];
}

typedef struct line {
  double offset, slope;
} line;

/* Through the middle of the fitted map, where that goes most of the travel; else from end to end.
 */
static line line_of(const plag_model *model) {
  const platelag_trace *trace = model->trace;
  const platelag_fit *fit = model->fit;
  double from = trace->command_lowest;
  double to = trace->command_highest;
  double from_pct = fit->map_rising ? fit->travel.lowest_pct : fit->travel.highest_pct;
  double to_pct = fit->map_rising ? fit->travel.highest_pct : fit->travel.lowest_pct;
  const double map_way_pct =
      fit->map_knots > 1 ? fabs(fit->map_pct[fit->map_knots - 1] - fit->map_pct[0]) : 0.0;
  if (map_way_pct > MAP_SHARE * (fit->travel.highest_pct - fit->travel.lowest_pct)) {
    from = command_at(fit, 0.25);
    to = command_at(fit, 0.75);
    from_pct = plag_model_target_pct(fit, trace, from);
    to_pct = plag_model_target_pct(fit, trace, to);
  }
  line straight = {.slope = to != from ? (to_pct - from_pct) / (to - from) : 0.0};
  straight.offset = from_pct - straight.slope * from;
  return straight;
}

static double target_pct(const plag_model *model, const line *straight, double command) {
  return straight ? straight->offset + straight->slope * command
                  : plag_model_target_pct(model->fit, model->trace, command);
}

void plag_friction_record_map(const plag_model *model, plag_friction_record *record,
                              plag_friction_map map) {
  line straight = {0.0, 1.0};
  if (map == PLAG_FRICTION_MAP_LINE)
    straight = line_of(model);
  else if (!model->fit->map_rising)
    straight = (line){100.0, -1.0};
  const line *by = map == PLAG_FRICTION_MAP_FITTED ? NULL : &straight;
  for (size_t s = 0; s < record->stretch_count; s++)
    record->stretch[s].target_at_start_pct =
        target_pct(model, by, record->stretch[s].command_at_start);
  for (size_t k = 0; k < record->event_count; k++)
    record->event_pct[k] = target_pct(model, by, record->event_command[k]);
}

static void order_stretch(plag_friction_record *record, const plag_friction_stretch *stretch) {
  const plag_lag_point *lag = &record->lag;
  plag_moment *out = record->moment + stretch->first_sample + stretch->first_event;
  const size_t last_event = stretch->first_event + stretch->event_count;
  const size_t last_sample = stretch->first_sample + stretch->sample_count;
  size_t event = stretch->first_event;
  size_t sample = stretch->first_sample;
  double before_s = record->time_s[sample];
  plag_decay open = {.tau_s = lag->tau_open_s, .dt_s = -1.0};
  plag_decay close = {.tau_s = lag->tau_close_s, .dt_s = -1.0};
  while (event < last_event || sample < last_sample) {
    const double event_s =
        event < last_event ? record->event_s[event] + lag->dead_time_s : INFINITY;
    const double sample_s = sample < last_sample ? record->time_s[sample] : INFINITY;
    const bool is_event = event_s <= sample_s;
    const double at_s = is_event ? event_s : sample_s;
    const double dt_s = plag_greater(at_s - before_s, 0.0);
    *out++ = (plag_moment){.at_s = at_s,
                           .dt_s = dt_s,
                           .fade_open = plag_decay_over(&open, dt_s),
                           .fade_close = plag_decay_over(&close, dt_s),
                           .index = (uint32_t)(is_event ? event++ : sample++),
                           .is_event = is_event};
    before_s = at_s;
  }
}

void plag_friction_record_order(plag_friction_record *record, plag_lag_point lag) {
  record->lag = lag;
  for (size_t s = 0; s < record->stretch_count; s++)
    order_stretch(record, &record->stretch[s]);
}

/* Of a stretch no more than `room` samples, and the events before the last of them. */
static plag_friction_stretch cut(const plag_friction_record *record,
                                 const plag_friction_stretch *whole, size_t room) {
  plag_friction_stretch stretch = *whole;
  if (stretch.sample_count <= room)
    return stretch;
  stretch.sample_count = room;
  const double end_s = record->time_s[stretch.first_sample + room - 1];
  stretch.event_count = 0;
  while (stretch.event_count < whole->event_count &&
         record->event_s[stretch.first_event + stretch.event_count] <= end_s)
    stretch.event_count++;
  return stretch;
}

bool plag_friction_record_head(plag_model *model, const plag_friction_record *record,
                               size_t samples, plag_friction_record *head) {
  *head = *record;
  head->sample_count = head->event_count = head->stretch_count = 0;
  head->stretch =
      plag_workspace_take(model->workspace, record->stretch_count, sizeof head->stretch[0]);
  if (!head->stretch)
    return false;
  for (size_t s = 0; s < record->stretch_count && head->sample_count < samples; s++) {
    const plag_friction_stretch stretch =
        cut(record, &record->stretch[s], samples - head->sample_count);
    head->sample_count += stretch.sample_count;
    head->event_count += stretch.event_count;
    head->stretch[head->stretch_count++] = stretch;
  }
  return take_moments(model, head, record->lag);
}
