/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture from inside, and how it is made of what was collected. */
#ifndef PLAG_READ_CAPTURE_OBJECT_H
#define PLAG_READ_CAPTURE_OBJECT_H

#include "read/started.h"

struct platelag_capture {
  plag_arena arena; /* names, notes, lists */
  const char *name;
  platelag_reading reading;
  platelag_channel *channel;
  double **value;    /* a channel: its samples, or NULL */
  int64_t **time_ns; /* a channel: its own times, or NULL */
  size_t channel_count;
  int64_t *shared_time_ns;
  platelag_segment *segment;
  size_t segment_count;
  const char **run;
  size_t run_count;
  platelag_note *note;
  size_t note_count;
};

/* What a capture is made of. */
typedef struct plag_reader {
  const char *file;
  plag_rows *rows;
  plag_arena arena; /* layout and shape */
  plag_layout layout;
  plag_notation *notation;
  plag_started preamble; /* what the lines before the header say of the begin */
  plag_sample sample;
  plag_note_list notes;
  plag_collector collector;
} plag_reader;

/* Makes the capture; it takes over the samples that the reader collected. */
platelag_status plag_capture_build(plag_reader *reader, platelag_capture **out,
                                   platelag_error *error);

#endif
