/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One run of a capture, as lining up sees it: channels and the run's segments. */
#ifndef PLAG_LINE_UP_RECORDING_H
#define PLAG_LINE_UP_RECORDING_H

#include "core/arena.h"
#include "platelag/capture.h"

/* Everything is lent; the lists lie in the arena that was given. */
typedef struct plag_recording {
  const char *name; /* the capture's, for messages */
  size_t run;
  size_t run_count;
  size_t channel_count;
  const platelag_channel *const *channel; /* all of the capture */
  size_t segment_count;
  const platelag_segment *segment; /* of this run, in order of time */
} plag_recording;

/* Rows [first, end) of a channel. */
typedef struct plag_rows_range {
  size_t first;
  size_t end;
} plag_rows_range;

platelag_status plag_recording_open(const platelag_capture *capture, size_t run, plag_arena *arena,
                                    plag_recording *out, platelag_error *error);

/* The rows of `channel` between two times, both included, by bisection. */
plag_rows_range plag_recording_rows(const platelag_channel *channel, int64_t from_ns,
                                    int64_t to_ns);

/* The rows of `channel` from the run's first segment to its last. */
plag_rows_range plag_recording_run_rows(const plag_recording *recording,
                                        const platelag_channel *channel);

#endif
