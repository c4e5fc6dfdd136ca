/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/recording.h"

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
