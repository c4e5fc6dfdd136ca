/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long the signal is at its rails, at what level, and how noisy there. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/even_sample.h"
#include "model/rails.h"
#include "model/signal.h"
#include "model/workspace.h"

#define MOST_KEPT ((size_t)4096) /* levels a rail, for their median */

/* Levels past one rail. */
typedef struct rail {
  double time_s;
  double longest_s;
  int64_t first_ns;
  plag_even_sample level_pct;
  double lasted_s; /* of the stretch that is open */
  double square_sum;
  size_t pairs;
} rail;

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
  plag_even_sample_add(&here->level_pct, share);
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

platelag_status plag_signal_measure_rails(plag_model *model, platelag_error *error) {
  platelag_signal *signal = &model->fit->signal;
  rail low = {.first_ns = -1};
  rail high = low;
  const size_t mark = plag_workspace_mark(model->workspace);
  if (!plag_even_sample_begin(&low.level_pct, model->workspace, MOST_KEPT) ||
      !plag_even_sample_begin(&high.level_pct, model->workspace, MOST_KEPT))
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
  signal->high_level_pct = plag_median(high.level_pct.value, high.level_pct.count);
  signal->low_level_pct = plag_median(low.level_pct.value, low.level_pct.count);
  signal->high_noise_pct = high.pairs > 0 ? sqrt(high.square_sum / (double)high.pairs / 2.0) : NAN;
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
