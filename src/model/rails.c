/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/rails.h"

#include <math.h>

#include "core/lesser.h"

/* A stop that the spec itself puts past a limit moves the limit this far beyond it. */
#define STOP_MARGIN_PCT 3.0

plag_rails plag_rails_of(const plag_model *model) {
  const platelag_trace *trace = model->trace;
  plag_rails rails = {
      .visible = trace->volts_per_level > 0.0 && trace->reference_v > 0.0,
      .low_pct = model->spec->low_limit_pct,
      .high_pct = model->spec->high_limit_pct,
  };
  if (!rails.visible || trace->scale != PLATELAG_SCALE_SPEC)
    return rails;
  const double closed = platelag_trace_reference_pct(trace, trace->closed_level);
  const double open = platelag_trace_reference_pct(trace, trace->open_level);
  rails.low_pct = plag_lesser(rails.low_pct, plag_lesser(closed, open) - STOP_MARGIN_PCT);
  rails.high_pct = plag_greater(rails.high_pct, plag_greater(closed, open) + STOP_MARGIN_PCT);
  return rails;
}

int plag_rails_side(const plag_rails *rails, const platelag_trace *trace, double level) {
  if (!rails->visible)
    return 0;
  const double share = platelag_trace_reference_pct(trace, level);
  return share >= rails->high_pct ? 1 : share <= rails->low_pct ? -1 : 0;
}

double plag_sample_time_s(const platelag_trace *trace, const platelag_trace_segment *segment,
                          size_t sample) {
  const double longest_s = 5.0 * plag_greater(trace->position_refresh_s, 1e-3);
  if (sample + 1 >= segment->first_sample + segment->sample_count)
    return plag_lesser(trace->position_refresh_s, longest_s);
  return plag_lesser(platelag_seconds(trace->time_ns[sample + 1] - trace->time_ns[sample]),
                     longest_s);
}

/* A stretch past a limit is void when it lasts the hold time or when a decoded jump is in it. */
static void close_rail(plag_model *model, int side, size_t from, size_t end, double lasted_s,
                       bool jumped) {
  if (side == 0 || (lasted_s < model->spec->hold_time_s && !jumped))
    return;
  const platelag_mode mode = side > 0 ? PLATELAG_MODE_RAIL_HIGH : PLATELAG_MODE_RAIL_LOW;
  for (size_t i = from; i < end; i++)
    model->mode[i] = (unsigned char)mode;
}

void plag_rails_mark(plag_model *model) {
  const platelag_trace *trace = model->trace;
  const plag_rails rails = plag_rails_of(model);
  if (!rails.visible)
    return;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const platelag_trace_segment *segment = &trace->segment[s];
    const size_t end = segment->first_sample + segment->sample_count;
    size_t from = segment->first_sample;
    int side = 0;
    double lasted_s = 0.0;
    bool jumped = false;
    for (size_t i = from; i < end; i++) {
      const int here = plag_rails_side(&rails, trace, trace->level[i]);
      if (here != side) {
        close_rail(model, side, from, i, lasted_s, jumped);
        side = here;
        from = i;
        lasted_s = 0.0;
        jumped = false;
      }
      lasted_s += plag_sample_time_s(trace, segment, i);
      jumped = jumped || model->mode[i] == PLATELAG_MODE_ERRATIC;
    }
    close_rail(model, side, from, end, lasted_s, jumped);
  }
}
