/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/segments.h"

#include <math.h>

#include "core/error.h"

static size_t set_samples(const plag_recording *recording, const platelag_trace *trace,
                          platelag_trace_segment *segment) {
  size_t count = 0;
  size_t sample = 0;
  for (size_t i = 0; i < recording->segment_count; i++) {
    const platelag_segment *whole = &recording->segment[i];
    platelag_trace_segment found = {.from_ns = whole->from_ns,
                                    .to_ns = whole->to_ns,
                                    .first_sample = sample,
                                    .command_at_start = NAN};
    while (sample < trace->sample_count && trace->time_ns[sample] <= whole->to_ns)
      sample++;
    found.sample_count = sample - found.first_sample;
    if (found.sample_count > 0)
      segment[count++] = found;
  }
  return count;
}

/* Walks the command through one segment: counts its changes, writes them where `row_of` is not
 * NULL, and widens the command's range. */
static void walk_changes(platelag_trace *trace, platelag_trace_segment *segment, uint32_t *row_of,
                         size_t first_change) {
  const platelag_channel *command = trace->command;
  const plag_rows_range rows = plag_recording_rows(command, segment->from_ns, segment->to_ns);
  segment->first_change = first_change;
  segment->change_count = 0;
  segment->command_at_start = NAN;
  double last = NAN;
  for (size_t row = rows.first; row < rows.end; row++) {
    const double value = command->value[row];
    if (value == last || isnan(value))
      continue;
    if (isnan(last))
      segment->command_at_start = value;
    else {
      if (row_of != NULL)
        row_of[first_change + segment->change_count] = (uint32_t)row;
      segment->change_count++;
    }
    trace->command_lowest = fmin(trace->command_lowest, value);
    trace->command_highest = fmax(trace->command_highest, value);
    last = value;
  }
}

static platelag_status set_changes(const plag_recording *recording, plag_arena *arena,
                                   platelag_trace *trace, platelag_trace_segment *segment,
                                   platelag_error *error) {
  if (trace->command->count > UINT32_MAX)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, recording->name, 0, 0,
                          "the command has %zu rows; at most %lu can be lined up: split the file",
                          trace->command->count, (unsigned long)UINT32_MAX);
  size_t count = 0;
  for (size_t i = 0; i < trace->segment_count; i++) {
    walk_changes(trace, &segment[i], NULL, count);
    count += segment[i].change_count;
  }
  uint32_t *row_of = plag_arena_take_array(arena, count + 1, sizeof *row_of);
  if (row_of == NULL)
    return plag_error_memory(error, "the command changes");
  for (size_t i = 0; i < trace->segment_count; i++)
    walk_changes(trace, &segment[i], row_of, segment[i].first_change);
  trace->change_row = row_of;
  trace->change_count = count;
  return PLATELAG_OK;
}

platelag_status plag_segments_set(const plag_recording *recording, plag_arena *arena,
                                  platelag_trace *trace, platelag_error *error) {
  platelag_trace_segment *segment =
      plag_arena_take_array(arena, recording->segment_count + 1, sizeof *segment);
  if (segment == NULL)
    return plag_error_memory(error, "the segments");
  trace->segment_count = set_samples(recording, trace, segment);
  trace->segment = segment;
  trace->command_lowest = NAN;
  trace->command_highest = NAN;
  if (trace->command == NULL)
    return PLATELAG_OK;
  return set_changes(recording, arena, trace, segment, error);
}

bool plag_segments_is_two_level(const platelag_trace *trace) {
  if (!(trace->command_highest > trace->command_lowest))
    return false;
  for (size_t i = 0; i < trace->segment_count; i++) {
    const double start = trace->segment[i].command_at_start;
    if (start > trace->command_lowest && start < trace->command_highest)
      return false;
  }
  for (size_t i = 0; i < trace->change_count; i++) {
    const double to = trace->command->value[trace->change_row[i]];
    if (to > trace->command_lowest && to < trace->command_highest)
      return false;
  }
  return true;
}
