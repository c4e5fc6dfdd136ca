/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stretches of time without a break, each with its samples and its command changes. No state is
 * carried from one to the next. */
#ifndef PLAG_LINE_UP_SEGMENTS_H
#define PLAG_LINE_UP_SEGMENTS_H

#include "line_up/recording.h"
#include "platelag/trace.h"

/* Sets the trace's segments from its samples and, where it has a command, its changes and the
 * command's range. Segments without a sample are left out. */
platelag_status plag_segments_set(const plag_recording *recording, plag_arena *arena,
                                  platelag_trace *trace, platelag_error *error);

/* Whether the command, which has been set, only ever takes two values. */
bool plag_segments_is_two_level(const platelag_trace *trace);

#endif
