/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Void spans: how many, where they begin, and whether they come back to where the plates are. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/changes.h"
#include "model/even_sample.h"
#include "model/signal.h"
#include "model/workspace.h"

#define MOST_KEPT    ((size_t)4096) /* places, for their median and spread */
#define STILL_NOISES 4.0
#define RETURN_PCT   10.0 /* a void span that ends this near to where it began came back */
#define MOVING_PCT   5.0
#define RECENTLY_NS  2000000000
#define LEAST_PLACES 3

/* What void spans have in common. */
typedef struct places {
  plag_even_sample travel_pct;
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
  plag_even_sample_add(&where->travel_pct, before);
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

platelag_status plag_signal_measure_voids(plag_model *model, const plag_guess *guess,
                                          platelag_error *error) {
  platelag_signal *signal = &model->fit->signal;
  const platelag_trace *trace = model->trace;
  const size_t mark = plag_workspace_mark(model->workspace);
  places where = {0};
  if (!plag_even_sample_begin(&where.travel_pct, model->workspace, MOST_KEPT))
    return plag_error_memory(error, "the void spans of a signal");
  size_t void_samples = 0;
  for (size_t s = 0; s < trace->segment_count; s++)
    void_samples += look_at_segment(model, s, guess, &where);
  const double count = (double)where.begun;
  signal->void_share =
      trace->sample_count > 0 ? (double)void_samples / (double)trace->sample_count : 0.0;
  signal->void_travel_pct = plag_median(where.travel_pct.value, where.travel_pct.count);
  signal->void_travel_spread_pct =
      where.begun >= LEAST_PLACES
          ? plag_median_deviation(where.travel_pct.value, where.travel_pct.count)
          : NAN;
  signal->moving_share = where.begun > 0 ? (double)where.moving / count : 0.0;
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
