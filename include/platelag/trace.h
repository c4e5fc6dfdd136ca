/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A trace: one valve's command and position, lined up in time and scaled, ready for the model.
 * Nothing is resampled. The trace lends its arrays from the capture wherever it can and must be
 * destroyed before it.
 *
 * Signs: travel 0 % is the closed stop, 100 % the open stop. Dead time > 0: position later than
 * command. Pull > 0: the command asks for more opening than there is. */
#ifndef PLATELAG_TRACE_H
#define PLATELAG_TRACE_H

#include "platelag/capture.h"

#ifdef __cplusplus
extern "C" {
#endif

/* How a capture was taken. */
typedef enum platelag_condition {
  PLATELAG_CONDITION_ROAD,       /* installed, running */
  PLATELAG_CONDITION_REST,       /* installed, key on, engine off */
  PLATELAG_CONDITION_HAND_SWEEP, /* actuator off the manifold, shaft turned by hand */
  PLATELAG_CONDITION_AFTER       /* after the repair */
} platelag_condition;

/* "road", "rest", "hand_sweep", "after". */
PLATELAG_API const char *platelag_condition_name(platelag_condition condition);

typedef enum platelag_command_kind {
  PLATELAG_COMMAND_ABSENT,    /* a hand sweep, or a rest, without a command channel */
  PLATELAG_COMMAND_DUTY,      /* 0..100 % or -100..100 %, or any number */
  PLATELAG_COMMAND_TWO_LEVEL, /* on/off words, or a number that only ever has two values */
  PLATELAG_COMMAND_DESIRED    /* a desired position, in the position's unit or % open */
} platelag_command_kind;

typedef enum platelag_level_unit {
  PLATELAG_LEVEL_VOLT,          /* volts at the sensor */
  PLATELAG_LEVEL_PCT_REFERENCE, /* % of the sensor reference */
  PLATELAG_LEVEL_PCT_OPEN,      /* % open: the controller has scaled it and the rails are hidden */
  PLATELAG_LEVEL_UNKNOWN
} platelag_level_unit;

typedef enum platelag_scale {
  PLATELAG_SCALE_SPEC,    /* both stops are the spec's */
  PLATELAG_SCALE_LEARNED, /* from the resting levels of the trace */
  PLATELAG_SCALE_NOMINAL  /* neither was possible: the unit's own range (0..100 %, 0..reference) */
} platelag_scale;

/* One change of the command. It happened after `after_ns` (the last sample that shows the old
 * value) and by `by_ns` (the first that shows the new). */
typedef struct platelag_command_change {
  int64_t after_ns;
  int64_t by_ns;
  double from; /* in the command's unit */
  double to;
  size_t segment;
} platelag_command_change;

/* One stretch of time without a break. */
typedef struct platelag_trace_segment {
  int64_t from_ns;
  int64_t to_ns;
  size_t first_sample; /* into time_ns and level */
  size_t sample_count;
  size_t first_change; /* into the changes */
  size_t change_count;
  double command_at_start; /* NaN without a command */
} platelag_trace_segment;

typedef struct platelag_trace {
  const char *valve; /* "bank 1", "bank 2", or "valve" when the file names no bank */
  int bank;
  platelag_condition condition;
  int run; /* of the capture */

  /* command */
  platelag_command_kind command_kind;
  const platelag_channel *command; /* NULL when absent */
  const platelag_channel *effort;  /* the duty, where the command is a desired position; or NULL */
  double command_lowest, command_highest;
  size_t change_count;
  const uint32_t *change_row; /* index into command's samples: the first that shows the new value;
                                 read changes with platelag_trace_change_at */
  double command_refresh_s;   /* 0 when unknown */
  double command_period_s;    /* median time between its samples; 0 when absent */

  /* position: true updates only, missing samples taken out */
  const platelag_channel *position; /* never NULL */
  size_t sample_count;
  const int64_t *time_ns;
  const double *level; /* as recorded, in level_unit */
  platelag_level_unit level_unit;
  double level_quantum;      /* smallest step seen between levels; 0 when unknown */
  double position_refresh_s; /* median time between true updates */
  double row_period_s;       /* bounds the polling skew inside a row */

  /* scale: travel = 100 (level - closed_level) / (open_level - closed_level) */
  platelag_scale scale;
  double closed_level, open_level;
  bool inverted;          /* a higher level is a more closed plate */
  double volts_per_level; /* level times this is volts; NaN in % open or unknown */
  double reference_v;

  size_t segment_count;
  const platelag_trace_segment *segment;

  /* other channels, by role; NULL when absent; over the whole capture */
  const platelag_channel *auxiliary[PLATELAG_ROLE_COUNT];

  /* told to the reader of the report: guesses and what the capture hides */
  size_t note_count;
  const char *const *note;

  const struct plag_trace_store *store; /* the trace's own */
} platelag_trace;

/* How many valves the capture's run holds (banks with a position channel). A refusal names the
 * columns, the candidates and the options that settle an ambiguity. */
PLATELAG_API platelag_status platelag_trace_count_valves(const platelag_capture *capture,
                                                         size_t run, const platelag_spec *spec,
                                                         platelag_condition condition,
                                                         size_t *count, platelag_error *error);

/* Builds the trace of valve `valve` (from 0) of run `run`. The caller destroys it, before the
 * capture. `*out` is NULL on failure. */
PLATELAG_API platelag_status platelag_trace_build(const platelag_capture *capture, size_t run,
                                                  size_t valve, const platelag_spec *spec,
                                                  platelag_condition condition,
                                                  platelag_trace **out, platelag_error *error);

/* Change `index` (from 0, below change_count), in order of time. */
PLATELAG_API platelag_command_change platelag_trace_change_at(const platelag_trace *trace,
                                                              size_t index);

PLATELAG_API void platelag_trace_destroy(platelag_trace *trace);

/* Travel in % of a recorded level; may lie outside 0..100. */
static inline double platelag_trace_travel_pct(const platelag_trace *trace, double level) {
  return 100.0 * (level - trace->closed_level) / (trace->open_level - trace->closed_level);
}

/* Share of the sensor reference in % of a recorded level; NaN when the unit hides it. */
static inline double platelag_trace_reference_pct(const platelag_trace *trace, double level) {
  return 100.0 * level * trace->volts_per_level / trace->reference_v;
}

static inline double platelag_seconds(int64_t nanoseconds) {
  return (double)nanoseconds * 1e-9;
}

#ifdef __cplusplus
}
#endif
#endif
