/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/changes.h"

#include <math.h>

static void load(plag_changes *changes) {
  if (changes->next >= changes->end) {
    changes->at_ns = INT64_MAX;
    return;
  }
  changes->change = platelag_trace_change_at(changes->trace, changes->next);
  const int64_t by_ns = changes->change.by_ns;
  const int64_t happened_ns =
      changes->on_rows ? by_ns : by_ns - (by_ns - changes->change.after_ns) / 2;
  changes->at_ns = happened_ns + changes->delay_ns;
}

void plag_changes_begin(plag_changes *changes, const platelag_trace *trace, size_t segment,
                        double delay_s, bool on_rows) {
  const platelag_trace_segment *here = &trace->segment[segment];
  *changes = (plag_changes){
      .trace = trace,
      .delay_ns = (int64_t)llround(delay_s * 1e9),
      .on_rows = on_rows,
      .next = here->first_change,
      .end = here->first_change + here->change_count,
  };
  load(changes);
}

void plag_changes_advance(plag_changes *changes) {
  changes->next++;
  load(changes);
}
