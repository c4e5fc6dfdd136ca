/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/made_trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/arena.h"
#include "core/statistics.h"

/* A trace with the arena that holds all it lends; the trace comes first, so that one is the
 * other. */
typedef struct made_trace {
  platelag_trace trace;
  plag_arena arena;
} made_trace;

static void *take(made_trace *made, size_t count, size_t size) {
  void *memory = plag_arena_take_array(&made->arena, count > 0 ? count : 1, size);
  assert_non_null(memory);
  return memory;
}

static int64_t nanoseconds(double seconds) {
  return (int64_t)llround(seconds * 1e9);
}

static platelag_channel *make_channel(made_trace *made, const char *name, platelag_role role,
                                      const double *time_s, const double *value, size_t count) {
  platelag_channel *channel = take(made, 1, sizeof *channel);
  int64_t *time_ns = take(made, count, sizeof *time_ns);
  double *copy = take(made, count, sizeof *copy);
  *channel = (platelag_channel){.name = name,
                                .unit_text = "",
                                .kind = PLATELAG_VALUE_NUMBER,
                                .role = role,
                                .role_score = 1.0,
                                .role_reason = "made by a test",
                                .kept = true,
                                .count = count,
                                .time_ns = time_ns,
                                .value = copy,
                                .lowest = INFINITY,
                                .highest = -INFINITY};
  for (size_t i = 0; i < count; i++) {
    time_ns[i] = nanoseconds(time_s[i]);
    copy[i] = value[i];
    if (isnan(value[i])) {
      channel->missing++;
      continue;
    }
    channel->present++;
    channel->lowest = fmin(channel->lowest, value[i]);
    channel->highest = fmax(channel->highest, value[i]);
  }
  return channel;
}

static double median_period_s(const int64_t *time_ns, size_t count) {
  if (count < 2)
    return 0.0;
  double *period = malloc((count - 1) * sizeof *period);
  assert_non_null(period);
  for (size_t i = 1; i < count; i++)
    period[i - 1] = platelag_seconds(time_ns[i] - time_ns[i - 1]);
  const double median = plag_median(period, count - 1);
  free(period);
  return median;
}

static double smallest_step(const double *level, size_t count) {
  double smallest = INFINITY;
  for (size_t i = 1; i < count; i++) {
    const double step = fabs(level[i] - level[i - 1]);
    if (step > 1e-9)
      smallest = fmin(smallest, step);
  }
  return isfinite(smallest) ? smallest : 0.0;
}

static void cut_segments(made_trace *made, double gap_s) {
  platelag_trace *trace = &made->trace;
  platelag_trace_segment *segment = take(made, trace->sample_count, sizeof *segment);
  for (size_t i = 0; i < trace->sample_count; i++) {
    const bool gap =
        i > 0 && gap_s > 0.0 && platelag_seconds(trace->time_ns[i] - trace->time_ns[i - 1]) > gap_s;
    if (i == 0 || gap)
      segment[trace->segment_count++] = (platelag_trace_segment){
          .from_ns = trace->time_ns[i], .first_sample = i, .command_at_start = NAN};
    segment[trace->segment_count - 1].to_ns = trace->time_ns[i];
    segment[trace->segment_count - 1].sample_count++;
  }
  if (trace->segment_count > 0 && trace->command != NULL && trace->command->count > 0 &&
      trace->command->time_ns[0] < segment[0].from_ns)
    segment[0].from_ns = trace->command->time_ns[0];
  trace->segment = segment;
}

/* The command's changes, segment by segment: the first value of a segment is no change. */
static void find_changes(made_trace *made) {
  platelag_trace *trace = &made->trace;
  const platelag_channel *command = trace->command;
  platelag_trace_segment *segment = (platelag_trace_segment *)trace->segment;
  uint32_t *row_of = take(made, command->count, sizeof *row_of);
  size_t row = 0;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const int64_t end_ns = s + 1 < trace->segment_count ? segment[s + 1].from_ns : INT64_MAX;
    double last = NAN;
    segment[s].first_change = trace->change_count;
    for (; row < command->count && command->time_ns[row] < end_ns; row++) {
      const double value = command->value[row];
      if (isnan(value))
        continue;
      if (isnan(last))
        segment[s].command_at_start = value;
      else if (value != last)
        row_of[trace->change_count++] = (uint32_t)row;
      last = value;
    }
    segment[s].change_count = trace->change_count - segment[s].first_change;
  }
  trace->change_row = row_of;
}

static bool has_two_values(const platelag_channel *command) {
  for (size_t i = 0; i < command->count; i++)
    if (!isnan(command->value[i]) && command->value[i] != command->lowest &&
        command->value[i] != command->highest)
      return false;
  return command->highest > command->lowest;
}

static void set_command(made_trace *made, const plag_test_samples *samples) {
  platelag_trace *trace = &made->trace;
  platelag_channel *command =
      make_channel(made, "Runner command", PLATELAG_ROLE_COMMAND, samples->command_time_s,
                   samples->command, samples->command_count);
  trace->command = command;
  trace->command_lowest = command->lowest;
  trace->command_highest = command->highest;
  trace->command_refresh_s = samples->command_refresh_s;
  trace->command_period_s = median_period_s(command->time_ns, command->count);
  trace->command_kind =
      has_two_values(command) ? PLATELAG_COMMAND_TWO_LEVEL : PLATELAG_COMMAND_DUTY;
  if (samples->desired)
    trace->command_kind = PLATELAG_COMMAND_DESIRED;
  find_changes(made);
}

static void set_scale(platelag_trace *trace, const plag_test_samples *samples) {
  trace->level_unit = samples->unit;
  trace->scale = samples->scale;
  trace->reference_v = 5.0;
  trace->closed_level = samples->closed_level;
  trace->open_level = samples->open_level;
  if (trace->closed_level == trace->open_level) {
    trace->closed_level = 0.0;
    trace->open_level = samples->unit == PLATELAG_LEVEL_VOLT ? 5.0 : 100.0;
  }
  trace->inverted = trace->closed_level > trace->open_level;
  trace->volts_per_level = NAN;
  if (samples->unit == PLATELAG_LEVEL_VOLT)
    trace->volts_per_level = 1.0;
  if (samples->unit == PLATELAG_LEVEL_PCT_REFERENCE)
    trace->volts_per_level = trace->reference_v / 100.0;
}

platelag_trace *plag_test_trace_make(const plag_test_samples *samples) {
  made_trace *made = calloc(1, sizeof *made);
  assert_non_null(made);
  platelag_trace *trace = &made->trace;
  trace->valve = "valve";
  trace->condition = samples->condition;
  const platelag_channel *position =
      make_channel(made, "Runner position", PLATELAG_ROLE_POSITION, samples->position_time_s,
                   samples->level, samples->position_count);
  trace->position = position;
  trace->sample_count = position->count;
  trace->time_ns = position->time_ns;
  trace->level = position->value;
  trace->level_quantum = smallest_step(trace->level, trace->sample_count);
  trace->position_refresh_s = median_period_s(trace->time_ns, trace->sample_count);
  trace->row_period_s =
      samples->row_period_s > 0.0 ? samples->row_period_s : trace->position_refresh_s;
  set_scale(trace, samples);
  cut_segments(made, samples->gap_s);
  trace->command_kind = PLATELAG_COMMAND_ABSENT;
  trace->command_lowest = trace->command_highest = NAN;
  if (samples->command_count > 0)
    set_command(made, samples);
  if (samples->effort_count > 0)
    trace->effort = make_channel(made, "Runner duty", PLATELAG_ROLE_COMMAND, samples->effort_time_s,
                                 samples->effort, samples->effort_count);
  return trace;
}

void plag_test_trace_add(platelag_trace *trace, platelag_role role, const double *time_s,
                         const double *value, size_t count) {
  made_trace *made = (made_trace *)trace;
  trace->auxiliary[role] = make_channel(made, "auxiliary", role, time_s, value, count);
}

void plag_test_trace_destroy(platelag_trace *trace) {
  if (trace == NULL)
    return;
  made_trace *made = (made_trace *)trace;
  plag_arena_clear(&made->arena);
  free(made);
}
