/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole of lining up, from one run's channels to the trace of one valve. */
#ifndef PLAG_LINE_UP_LINE_UP_H
#define PLAG_LINE_UP_LINE_UP_H

#include "line_up/recording.h"
#include "platelag/trace.h"

/* As platelag_trace_build. The recording itself is not needed afterwards, its channels are. */
platelag_status plag_line_up(const plag_recording *recording, size_t valve,
                             const platelag_spec *spec, platelag_condition condition,
                             platelag_trace **out, platelag_error *error);

#endif
