/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Command changes: kept as row numbers, since a road test may have millions, and told as times. */
#include <math.h>

#include "platelag/trace.h"

/* The segment that holds time `at_ns`; the last that begins no later. */
static size_t segment_of(const platelag_trace *trace, int64_t at_ns) {
  size_t low = 0;
  size_t high = trace->segment_count;
  while (high - low > 1) {
    const size_t middle = low + (high - low) / 2;
    if (trace->segment[middle].from_ns <= at_ns)
      low = middle;
    else
      high = middle;
  }
  return low;
}

platelag_command_change platelag_trace_change_at(const platelag_trace *trace, size_t index) {
  const platelag_channel *command = trace->command;
  const size_t row = trace->change_row[index];
  size_t before = row - 1;
  while (before > 0 && isnan(command->value[before]))
    before--;
  platelag_command_change change = {
      .after_ns = command->time_ns[before],
      .by_ns = command->time_ns[row],
      .from = command->value[before],
      .to = command->value[row],
  };
  change.segment = segment_of(trace, change.by_ns);
  /* A recorder that repeats the command between true updates showed the old value for longer than
   * it knew it. */
  const int64_t refresh_ns = (int64_t)(trace->command_refresh_s * 1e9 + 0.5);
  if (change.by_ns - refresh_ns < change.after_ns)
    change.after_ns = change.by_ns - refresh_ns;
  if (change.after_ns < trace->segment[change.segment].from_ns)
    change.after_ns = trace->segment[change.segment].from_ns;
  return change;
}
