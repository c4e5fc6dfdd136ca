/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/recording.h"

#include <assert.h>

#include "core/error.h"

static size_t count_segments(const platelag_capture *capture, size_t run) {
  size_t count = 0;
  for (size_t i = 0; i < platelag_capture_segment_count(capture); i++)
    count += platelag_capture_segment_at(capture, i)->run == (int)run;
  return count;
}

platelag_status plag_recording_open(const platelag_capture *capture, size_t run, plag_arena *arena,
                                    plag_recording *out, platelag_error *error) {
  assert(run < platelag_capture_run_count(capture));
  const size_t channels = platelag_capture_channel_count(capture);
  const size_t segments = count_segments(capture, run);
  const platelag_channel **channel =
      plag_arena_take_array(arena, channels + 1, sizeof(platelag_channel *));
  platelag_segment *segment = plag_arena_take_array(arena, segments + 1, sizeof *segment);
  if (channel == NULL || segment == NULL)
    return plag_error_memory(error, "the list of channels");
  for (size_t i = 0; i < channels; i++)
    channel[i] = platelag_capture_channel_at(capture, i);
  size_t taken = 0;
  for (size_t i = 0; i < platelag_capture_segment_count(capture); i++) {
    const platelag_segment *found = platelag_capture_segment_at(capture, i);
    if (found->run == (int)run)
      segment[taken++] = *found;
  }
  *out = (plag_recording){.name = platelag_capture_name(capture),
                          .run = run,
                          .run_count = platelag_capture_run_count(capture),
                          .channel_count = channels,
                          .channel = channel,
                          .segment_count = segments,
                          .segment = segment};
  return PLATELAG_OK;
}

/* The first row at or after `at_ns`. */
static size_t first_row(const platelag_channel *channel, int64_t at_ns) {
  size_t low = 0;
  size_t high = channel->count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (channel->time_ns[middle] < at_ns)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

plag_rows_range plag_recording_rows(const platelag_channel *channel, int64_t from_ns,
                                    int64_t to_ns) {
  return (plag_rows_range){.first = first_row(channel, from_ns),
                           .end =
                               to_ns < INT64_MAX ? first_row(channel, to_ns + 1) : channel->count};
}

plag_rows_range plag_recording_run_rows(const plag_recording *recording,
                                        const platelag_channel *channel) {
  if (recording->segment_count == 0)
    return (plag_rows_range){0, 0};
  return plag_recording_rows(channel, recording->segment[0].from_ns,
                             recording->segment[recording->segment_count - 1].to_ns);
}
