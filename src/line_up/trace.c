/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "platelag/trace.h"

#include "line_up/line_up.h"
#include "line_up/roles.h"

platelag_status platelag_trace_count_valves(const platelag_capture *capture, size_t run,
                                            const platelag_spec *spec, platelag_condition condition,
                                            size_t *count, platelag_error *error) {
  (void)condition; /* a valve is where a position is, however the capture was taken */
  plag_arena arena = {0};
  plag_recording recording;
  plag_valve_list list = {0};
  platelag_status status = plag_recording_open(capture, run, &arena, &recording, error);
  if (status == PLATELAG_OK)
    status = plag_roles_find_valves(&recording, spec, &list, error);
  *count = status == PLATELAG_OK ? list.count : 0;
  plag_arena_clear(&arena);
  return status;
}

platelag_status platelag_trace_build(const platelag_capture *capture, size_t run, size_t valve,
                                     const platelag_spec *spec, platelag_condition condition,
                                     platelag_trace **out, platelag_error *error) {
  *out = NULL;
  plag_arena arena = {0};
  plag_recording recording;
  platelag_status status = plag_recording_open(capture, run, &arena, &recording, error);
  if (status == PLATELAG_OK)
    status = plag_line_up(&recording, valve, spec, condition, out, error);
  plag_arena_clear(&arena);
  return status;
}
