/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/signal.h"

#include <math.h>

#define STILL_NOISES 4.0

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

platelag_status plag_signal_measure(plag_model *model, const plag_guess *guess,
                                    platelag_error *error) {
  model->fit->signal.noise_pct = model->noise_pct;
  look_at_neighbours(model);
  platelag_status status = plag_signal_measure_rails(model, error);
  if (status == PLATELAG_OK)
    status = plag_signal_measure_voids(model, guess, error);
  return status;
}
