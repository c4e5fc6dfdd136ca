/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The modes as a list of spans, once all of them are known. */
#include <math.h>

#include "core/error.h"
#include "model/course.h"
#include "model/held.h"

#define AT_END_PCT 1.5

/* A following sample rests at a stop when it stands at an end of the map and the command asks for
 * that end. */
static void mark_stops(plag_model *model) {
  const platelag_fit *fit = model->fit;
  if (model->trace->command_kind == PLATELAG_COMMAND_ABSENT)
    return;
  const double low = fmin(fit->map_low_pct, fit->map_high_pct);
  const double high = fmax(fit->map_low_pct, fit->map_high_pct);
  const double near = fmax(AT_END_PCT, 3.0 * model->noise_pct);
  if (!(high - low > 4.0 * near))
    return;
  plag_course course;
  for (plag_course_begin(&course, model); plag_course_next(&course);) {
    if (model->mode[course.sample] != PLATELAG_MODE_FOLLOWING)
      continue;
    const bool at_low = course.travel_pct <= low + near && course.target_pct <= low + near;
    const bool at_high = course.travel_pct >= high - near && course.target_pct >= high - near;
    if (at_low || at_high)
      model->mode[course.sample] = PLATELAG_MODE_AT_STOP;
  }
}

/* Spans never reach across segments. */
static size_t walk(const plag_model *model, platelag_mode_span *out) {
  const platelag_trace *trace = model->trace;
  size_t count = 0;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const size_t end = trace->segment[s].first_sample + trace->segment[s].sample_count;
    for (size_t i = trace->segment[s].first_sample; i < end;) {
      const size_t from = i;
      double sum = 0.0;
      for (; i < end && model->mode[i] == model->mode[from]; i++)
        sum += trace->level[i];
      if (out)
        out[count] = (platelag_mode_span){
            .from_ns = trace->time_ns[from],
            .to_ns = trace->time_ns[i - 1],
            .first_sample = from,
            .sample_count = i - from,
            .mode = (platelag_mode)model->mode[from],
            .level_mean = sum / (double)(i - from),
        };
      count++;
    }
  }
  return count;
}

platelag_status plag_spans_list(plag_model *model, platelag_error *error) {
  mark_stops(model);
  const size_t count = walk(model, NULL);
  if (count == 0)
    return PLATELAG_OK;
  platelag_mode_span *span = plag_arena_take_array(model->arena, count, sizeof span[0]);
  if (!span)
    return plag_error_memory(error, "the spans of a trace");
  model->fit->span_count = walk(model, span);
  model->fit->span = span;
  return PLATELAG_OK;
}
