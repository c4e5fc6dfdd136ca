/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "model/steps.h"

#define MERGE_ROWS 1.6 /* changes this near to each other belong together */
#define STEP_ROWS  2.6 /* a longer transition is a ramp */
#define REST_S     0.3 /* how long a level must stand before a step can be measured */
#define REST_ROWS  2.4

void plag_transitions_begin(plag_transitions *walk, const platelag_trace *trace, size_t segment) {
  const double row_s = fmax(fmax(trace->command_refresh_s, trace->row_period_s), 1e-3);
  *walk = (plag_transitions){
      .trace = trace,
      .segment = segment,
      .next = trace->segment[segment].first_change,
      .merge_s = MERGE_ROWS * row_s,
      .rest_s = fmax(REST_S, REST_ROWS * fmax(row_s, trace->position_refresh_s)),
      .rested_since_ns = trace->segment[segment].from_ns,
  };
}

bool plag_transitions_next(plag_transitions *walk, plag_transition *out) {
  const platelag_trace_segment *segment = &walk->trace->segment[walk->segment];
  const size_t end = segment->first_change + segment->change_count;
  if (walk->next >= end)
    return false;
  platelag_command_change change = platelag_trace_change_at(walk->trace, walk->next++);
  *out = (plag_transition){change.after_ns, change.by_ns, change.from, change.to, true,
                           segment->to_ns,  true};
  const int64_t rested_ns = change.after_ns - walk->rested_since_ns;
  int64_t first_by_ns = change.by_ns;
  while (walk->next < end) {
    const platelag_command_change next = platelag_trace_change_at(walk->trace, walk->next);
    if (platelag_seconds(next.by_ns - out->by_ns) > walk->merge_s) {
      out->next_ns = next.after_ns;
      out->last = false;
      break;
    }
    if ((next.to - next.from) * (out->to - out->from) < 0.0)
      out->is_step = false;
    out->by_ns = next.by_ns;
    out->to = next.to;
    walk->next++;
  }
  walk->rested_since_ns = out->by_ns;
  out->is_step =
      out->is_step &&
      platelag_seconds(out->by_ns - first_by_ns) <= STEP_ROWS / MERGE_ROWS * walk->merge_s &&
      platelag_seconds(rested_ns) >= walk->rest_s &&
      platelag_seconds(out->next_ns - out->by_ns) >= walk->rest_s;
  return true;
}
