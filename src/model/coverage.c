/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the record can support: span and moves of the command, gaps, travel seen. */
#include "model/coverage.h"

#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/changes.h"
#include "model/workspace.h"

#define MOVE_PCT     10.0 /* a move of the command that counts, % of travel */
#define MOST_LEVELS  8192
#define STILL_NOISES 4.0

/* Opening and closing moves: the target's way cut at its turns, small wiggles ignored. */
typedef struct moves {
  double extreme_pct; /* reached since the last counted move */
  int direction;      /* of the last counted move; 0: none yet */
  size_t openings, closings;
} moves;

static void count_move(moves *seen, double target_pct) {
  const double way = target_pct - seen->extreme_pct;
  if (way * seen->direction > 0.0) {
    seen->extreme_pct = target_pct;
  } else if (fabs(way) >= MOVE_PCT) {
    seen->direction = way > 0.0 ? 1 : -1;
    seen->extreme_pct = target_pct;
    if (way > 0.0)
      seen->openings++;
    else
      seen->closings++;
  }
}

/* The target as if the whole command span asked for the whole travel: a plate that never moved
 * was asked to all the same. */
static double asked_pct(const platelag_trace *trace, bool rising, double command) {
  const double span = trace->command_highest - trace->command_lowest;
  const double full = trace->command_kind == PLATELAG_COMMAND_DUTY ? fmax(span, 100.0) : span;
  const double share = span > 0.0 ? 100.0 * (command - trace->command_lowest) / full : 0.0;
  return rising ? share : -share;
}

static void count_moves(plag_model *model, bool rising) {
  const platelag_trace *trace = model->trace;
  size_t openings = 0;
  size_t closings = 0;
  for (size_t s = 0; s < trace->segment_count; s++) {
    plag_changes changes;
    plag_changes_begin(&changes, trace, s, 0.0, true);
    moves seen = {.extreme_pct = asked_pct(trace, rising, trace->segment[s].command_at_start)};
    for (; changes.at_ns != INT64_MAX; plag_changes_advance(&changes))
      count_move(&seen, asked_pct(trace, rising, changes.change.to));
    openings += seen.openings;
    closings += seen.closings;
  }
  model->fit->coverage.openings = openings;
  model->fit->coverage.closings = closings;
}

static double command_span_pct(const platelag_trace *trace) {
  const double span = trace->command_highest - trace->command_lowest;
  switch (trace->command_kind) {
  case PLATELAG_COMMAND_ABSENT:
    return 0.0;
  case PLATELAG_COMMAND_TWO_LEVEL:
    return span > 0.0 ? 100.0 : 0.0;
  case PLATELAG_COMMAND_DESIRED:
    if (trace->command_highest <= 5.5 && trace->level_unit == PLATELAG_LEVEL_VOLT)
      return fabs(100.0 * span / (trace->open_level - trace->closed_level));
    return span;
  case PLATELAG_COMMAND_DUTY:
    break;
  }
  const double full = trace->command_lowest < -1.0 ? 200.0 : 100.0;
  return fmin(100.0 * span / full, 100.0);
}

static void measure_time(plag_model *model) {
  const platelag_trace *trace = model->trace;
  platelag_coverage *coverage = &model->fit->coverage;
  for (size_t s = 0; s < trace->segment_count; s++)
    coverage->recorded_s += platelag_seconds(trace->segment[s].to_ns - trace->segment[s].from_ns);
  if (trace->segment_count == 0)
    return;
  const double whole_s =
      platelag_seconds(trace->segment[trace->segment_count - 1].to_ns - trace->segment[0].from_ns);
  coverage->gap_share = whole_s > 0.0 ? fmax(1.0 - coverage->recorded_s / whole_s, 0.0) : 0.0;
}

static double still_share(const plag_model *model) {
  const platelag_trace *trace = model->trace;
  const double limit =
      STILL_NOISES * model->noise_pct * fabs(trace->open_level - trace->closed_level) / 100.0;
  size_t still = 0;
  for (size_t i = 1; i < trace->sample_count; i++)
    still += fabs(trace->level[i] - trace->level[i - 1]) <= limit;
  return trace->sample_count > 1 ? (double)still / (double)(trace->sample_count - 1) : 0.0;
}

platelag_status plag_coverage_measure(plag_model *model, const plag_guess *guess,
                                      platelag_error *error) {
  const platelag_trace *trace = model->trace;
  platelag_coverage *coverage = &model->fit->coverage;
  coverage->samples_per_move = NAN;
  coverage->command_span_pct = command_span_pct(trace);
  if (trace->command_kind != PLATELAG_COMMAND_ABSENT)
    count_moves(model,
                guess->knots < 2 || guess->travel_pct[guess->knots - 1] >= guess->travel_pct[0]);
  measure_time(model);
  coverage->still_share = still_share(model);
  const size_t mark = plag_workspace_mark(model->workspace);
  double *travel = plag_workspace_take(model->workspace, MOST_LEVELS, sizeof travel[0]);
  if (!travel)
    return plag_error_memory(error, "the span of a trace");
  const size_t stride = trace->sample_count / MOST_LEVELS + 1;
  size_t count = 0;
  for (size_t i = 0; i < trace->sample_count; i += stride)
    travel[count++] = platelag_trace_travel_pct(trace, trace->level[i]);
  if (count > 0)
    coverage->position_span_pct =
        plag_quantile(travel, count, 0.99) - plag_quantile(travel, count, 0.01);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
