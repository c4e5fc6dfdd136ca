/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Recordings made in memory, channel by channel, for tests of lining up. */
#ifndef PLATELAG_TESTS_MADE_RECORDING_H
#define PLATELAG_TESTS_MADE_RECORDING_H

#include "line_up/recording.h"

enum { PLAG_TEST_MOST_CHANNELS = 16 };

/* Zero-initialise; give back with plag_test_recording_clear. */
typedef struct plag_test_recording {
  plag_recording recording;
  plag_arena arena;
  const platelag_channel *channel[PLAG_TEST_MOST_CHANNELS];
  platelag_segment segment[4];
} plag_test_recording;

/* What the reader would have found in a header. */
typedef struct plag_test_head {
  const char *name;
  const char *unit_text;
  platelag_unit unit;
  platelag_role role;
  int bank;
  double score;
} plag_test_head;

/* Adds a channel of `count` samples (copied) at `time_s`, and widens the one segment to hold them.
 * Lent. */
const platelag_channel *plag_test_recording_add(plag_test_recording *made, plag_test_head head,
                                                const double *time_s, const double *value,
                                                size_t count);

/* Cuts the last segment in two: the second begins at `from_s`, the first ends at `to_s`. */
void plag_test_recording_cut(plag_test_recording *made, double to_s, double from_s);

void plag_test_recording_clear(plag_test_recording *made);

#endif
