/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures of the signal itself: how long at the rails and how noisy there, void spans and where
 * they begin. No response is needed. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/changes.h"
#include "model/modes.h"
#include "model/workspace.h"

#define MOST_KEPT    4096 /* of each kind, for medians */
#define STILL_NOISES 4.0
#define RETURN_PCT   10.0 /* a void span that ends this near to where it began came back */
#define MOVING_PCT   5.0
#define RECENTLY_NS  2000000000
#define LEAST_PLACES 3

/* Levels past one rail. */
typedef struct rail {
  double time_s;
  double longest_s;
  int64_t first_ns;
  double *level_pct; /* MOST_KEPT, thinned by doubling strides */
  size_t kept, seen, stride;
  double lasted_s; /* of the stretch that is open */
  double square_sum;
  size_t pairs;
} rail;

/* Keeps an even sample of what is given, without knowing how much will come. */
static void keep(double *kept, size_t *count, size_t *seen, size_t *stride, double value) {
  if ((*seen)++ % *stride != 0)
    return;
  if (*count == MOST_KEPT) {
    for (size_t i = 0; i < MOST_KEPT / 2; i++)
      kept[i] = kept[2 * i];
    *count = MOST_KEPT / 2;
    *stride *= 2;
    if ((*seen - 1) % *stride != 0)
      return;
  }
  kept[(*count)++] = value;
}

static void take_rail(const plag_model *model, rail *here, bool past, bool before_too,
                      size_t sample, double lasts_s) {
  const platelag_trace *trace = model->trace;
  if (!past) {
    here->lasted_s = 0.0;
    return;
  }
  const double share = platelag_trace_reference_pct(trace, trace->level[sample]);
  if (before_too) {
    const double step = share - platelag_trace_reference_pct(trace, trace->level[sample - 1]);
    here->square_sum += step * step;
    here->pairs++;
  }
  here->time_s += lasts_s;
  here->lasted_s += lasts_s;
  here->longest_s = fmax(here->longest_s, here->lasted_s);
  if (here->first_ns < 0 && here->lasted_s >= model->spec->hold_time_s)
    here->first_ns = trace->time_ns[sample];
  keep(here->level_pct, &here->kept, &here->seen, &here->stride, share);
}

static void measure_rails(plag_model *model, rail *low, rail *high, double *recorded_s) {
  const platelag_trace *trace = model->trace;
  const plag_rails rails = plag_rails_of(model);
  for (size_t s = 0; s < trace->segment_count; s++) {
    const platelag_trace_segment *segment = &trace->segment[s];
    int before = 0;
    low->lasted_s = high->lasted_s = 0.0;
    for (size_t k = 0; k < segment->sample_count; k++) {
      const size_t i = segment->first_sample + k;
      const int side = plag_rails_side(&rails, trace, trace->level[i]);
      const double lasts_s = plag_sample_time_s(trace, segment, i);
      *recorded_s += lasts_s;
      take_rail(model, low, side<0, k> 0 && before < 0, i, lasts_s);
      take_rail(model, high, side > 0, k > 0 && before > 0, i, lasts_s);
      before = side;
    }
  }
}

static platelag_status look_at_rails(plag_model *model, platelag_error *error) {
  platelag_signal *signal = &model->fit->signal;
  rail low = {.first_ns = -1, .stride = 1};
  rail high = low;
  const size_t mark = plag_workspace_mark(model->workspace);
  low.level_pct = plag_workspace_take(model->workspace, MOST_KEPT, sizeof(double));
  high.level_pct = plag_workspace_take(model->workspace, MOST_KEPT, sizeof(double));
  if (!low.level_pct || !high.level_pct)
    return plag_error_memory(error, "the levels of a signal");
  double recorded_s = 0.0;
  measure_rails(model, &low, &high, &recorded_s);
  signal->rails_visible = plag_rails_of(model).visible;
  signal->high_share = recorded_s > 0.0 ? high.time_s / recorded_s : 0.0;
  signal->low_share = recorded_s > 0.0 ? low.time_s / recorded_s : 0.0;
  signal->longest_high_s = high.longest_s;
  signal->longest_low_s = low.longest_s;
  signal->first_high_ns = high.first_ns;
  signal->first_low_ns = low.first_ns;
  signal->high_level_pct = plag_median(high.level_pct, high.kept);
  signal->low_level_pct = plag_median(low.level_pct, low.kept);
  signal->high_noise_pct = high.pairs > 0 ? sqrt(high.square_sum / (double)high.pairs / 2.0) : NAN;
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}

/* Neighbours that are still: how often the last digit repeats, and the fastest move that stayed. */
static void look_at_neighbours(plag_model *model) {
  const platelag_trace *trace = model->trace;
  const double limit_pct = STILL_NOISES * model->noise_pct;
  const bool all = model->valid_count == 0;
  size_t still = 0;
  size_t equal = 0;
  double fastest = 0.0;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const size_t first = trace->segment[s].first_sample;
    const size_t end = first + trace->segment[s].sample_count;
    for (size_t i = first + 1; i < end; i++) {
      if (!all && (platelag_mode_is_void((platelag_mode)model->mode[i - 1]) ||
                   platelag_mode_is_void((platelag_mode)model->mode[i])))
        continue;
      const double here = platelag_trace_travel_pct(trace, trace->level[i]);
      const double move = here - platelag_trace_travel_pct(trace, trace->level[i - 1]);
      if (fabs(move) <= limit_pct) {
        still++;
        equal += trace->level[i] == trace->level[i - 1];
        continue;
      }
      if (i + 1 >= end || platelag_mode_is_void((platelag_mode)model->mode[i + 1]))
        continue;
      const double next = platelag_trace_travel_pct(trace, trace->level[i + 1]);
      const double dt_s = platelag_seconds(trace->time_ns[i] - trace->time_ns[i - 1]);
      if (dt_s > 0.0 && fabs(next - here) <= fmax(limit_pct, 0.3 * fabs(move)))
        fastest = fmax(fastest, fabs(move) / dt_s);
    }
  }
  model->fit->signal.repeat_share = still > 0 ? (double)equal / (double)still : 0.0;
  model->fit->signal.fastest_pct_per_s = fastest;
}

/* What void spans have in common. */
typedef struct places {
  double *travel_pct;
  size_t kept, seen, stride;
  size_t begun, moving;
} places;

/* One void span [from, end), with valid neighbours where the segment has them. */
static void take_void_span(plag_model *model, const platelag_trace_segment *segment, size_t from,
                           size_t end, double asked_low_pct, double asked_high_pct, places *where) {
  const platelag_trace *trace = model->trace;
  platelag_signal *signal = &model->fit->signal;
  signal->void_count++;
  if (from <= segment->first_sample)
    return;
  const double before = platelag_trace_travel_pct(trace, trace->level[from - 1]);
  where->begun++;
  keep(where->travel_pct, &where->kept, &where->seen, &where->stride, before);
  double earlier = before;
  if (from >= segment->first_sample + 2 &&
      !platelag_mode_is_void((platelag_mode)model->mode[from - 2]))
    earlier = platelag_trace_travel_pct(trace, trace->level[from - 2]);
  double after = before;
  const bool ends = end < segment->first_sample + segment->sample_count;
  if (ends)
    after = platelag_trace_travel_pct(trace, trace->level[end]);
  where->moving += fabs(before - earlier) > fmax(STILL_NOISES * model->noise_pct, 1.0) ||
                   fabs(after - before) > MOVING_PCT;
  const double low = fmin(before, asked_low_pct) - RETURN_PCT;
  const double high = fmax(before, asked_high_pct) + RETURN_PCT;
  if (ends && model->mode[from] != PLATELAG_MODE_FROZEN && after >= low && after <= high)
    signal->dropout_count++;
}

static size_t look_at_segment(plag_model *model, size_t index, const plag_guess *guess,
                              places *where) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const size_t end = segment->first_sample + segment->sample_count;
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double target = plag_guess_travel_pct(guess, segment->command_at_start);
  double low = target;
  double high = target;
  int64_t changed_ns = segment->from_ns;
  size_t from = end; /* of the open void span */
  size_t void_samples = 0;
  for (size_t i = segment->first_sample; i < end; i++) {
    const bool is_void = platelag_mode_is_void((platelag_mode)model->mode[i]);
    if (from == end && trace->time_ns[i] > changed_ns + RECENTLY_NS)
      low = high = target;
    for (; changes.at_ns <= trace->time_ns[i]; plag_changes_advance(&changes)) {
      target = plag_guess_travel_pct(guess, changes.change.to);
      changed_ns = changes.at_ns;
      low = fmin(low, target);
      high = fmax(high, target);
    }
    void_samples += is_void;
    if (is_void && from == end)
      from = i;
    if (!is_void && from != end) {
      take_void_span(model, segment, from, i, low, high, where);
      from = end;
    }
  }
  if (from != end)
    take_void_span(model, segment, from, end, low, high, where);
  return void_samples;
}

static platelag_status look_at_voids(plag_model *model, const plag_guess *guess,
                                     platelag_error *error) {
  platelag_signal *signal = &model->fit->signal;
  const platelag_trace *trace = model->trace;
  const size_t mark = plag_workspace_mark(model->workspace);
  places where = {.stride = 1};
  where.travel_pct = plag_workspace_take(model->workspace, MOST_KEPT, sizeof(double));
  if (!where.travel_pct)
    return plag_error_memory(error, "the void spans of a signal");
  size_t void_samples = 0;
  for (size_t s = 0; s < trace->segment_count; s++)
    void_samples += look_at_segment(model, s, guess, &where);
  const double count = (double)where.begun;
  signal->void_share =
      trace->sample_count > 0 ? (double)void_samples / (double)trace->sample_count : 0.0;
  signal->void_travel_pct = plag_median(where.travel_pct, where.kept);
  signal->void_travel_spread_pct =
      where.begun >= LEAST_PLACES ? plag_median_deviation(where.travel_pct, where.kept) : NAN;
  signal->moving_share = where.begun > 0 ? (double)where.moving / count : 0.0;
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}

platelag_status plag_signal_measure(plag_model *model, const plag_guess *guess,
                                    platelag_error *error) {
  model->fit->signal.noise_pct = model->noise_pct;
  look_at_neighbours(model);
  platelag_status status = look_at_rails(model, error);
  if (status == PLATELAG_OK)
    status = look_at_voids(model, guess, error);
  return status;
}
