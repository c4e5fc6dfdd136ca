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
