/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Traces made in memory, without a capture: from arrays, or by an event-exact simulation of first
 * order plus dead time with friction on command changes. For tests of the model alone; realistic
 * captures come from src/practice. */
#ifndef PLATELAG_TESTS_MADE_TRACE_H
#define PLATELAG_TESTS_MADE_TRACE_H

#include "platelag/trace.h"

/* Samples to make a trace of; what is 0 or NULL has the meaning in brackets. Arrays are copied.
 * Times are seconds and never fall; a NaN command is a missing one; positions have no NaN. */
typedef struct plag_test_samples {
  size_t command_count; /* [no command] */
  const double *command_time_s;
  const double *command;
  bool desired;                /* the command is a desired position */
  double command_refresh_s;    /* [unknown] */
  size_t effort_count;         /* [no effort] */
  const double *effort_time_s; /* the duty beside a desired position */
  const double *effort;
  size_t position_count;
  const double *position_time_s;
  const double *level;
  platelag_level_unit unit; /* [volts] */
  double closed_level;      /* both 0: [0..5 for volts, else 0..100] */
  double open_level;
  double row_period_s; /* [median of the position's] */
  double gap_s;        /* a longer pause of the position begins a segment [never] */
  platelag_condition condition;
  platelag_scale scale;
} plag_test_samples;

/* The caller destroys it with plag_test_trace_destroy. Fails the test without memory. */
platelag_trace *plag_test_trace_make(const plag_test_samples *samples);
void plag_test_trace_destroy(platelag_trace *trace);

/* Sets a channel of another role, sampled at `time_s`. */
void plag_test_trace_add(platelag_trace *trace, platelag_role role, const double *time_s,
                         const double *value, size_t count);

/* The command is set to `command` at the true time `at_s`, which lies on no recorder's grid. */
typedef struct plag_test_step {
  double at_s;
  double command;
} plag_test_step;

/* What is simulated; what is 0 has the meaning in brackets. */
typedef struct plag_test_plant {
  double dead_time_s;
  double tau_open_s, tau_close_s;       /* [follows at once] */
  double command_closed, command_open;  /* command for 0 % and 100 % of travel, saturating beyond
                                           [0 and 100] */
  double travel_lowest, travel_highest; /* % that the plates can reach [0 and 100] */
  double stick_band_pct, slip_jump_pct; /* S and J, on command changes, in % of travel */
  double rest_s;     /* plates that move go on until the command turns or has stood this long [each
                        change is a new stop] */
  double duration_s; /* from 0 */
  double rows_per_second;
  double jitter_share;             /* of the row period, sd of the time between rows */
  double skew_s;                   /* position is polled this much after the row's stamp */
  bool command_on_rows;            /* the command changes only at rows' stamps */
  double noise_pct;                /* sd, % of travel */
  double quantum;                  /* of the level [none] */
  double closed_level, open_level; /* [1.20 and 3.75 V] */
  platelag_level_unit unit;        /* [volts] */
  platelag_condition condition;
  uint64_t seed;
} plag_test_plant;

/* Simulates `count` steps in order of time (the first sets the state at the start, where the
 * plates rest) and records them. The caller destroys it with plag_test_trace_destroy. */
platelag_trace *plag_test_trace_simulate(const plag_test_plant *plant, const plag_test_step *step,
                                         size_t count);

#endif
