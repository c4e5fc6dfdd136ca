/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A fit: what the model found in one trace, in numbers with 90 % intervals. It judges nothing.
 * A fit copies what it reports and outlives its trace. */
#ifndef PLATELAG_FIT_H
#define PLATELAG_FIT_H

#include "platelag/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What is known of a quantity. */
typedef enum platelag_known {
  PLATELAG_KNOWN_NOTHING,     /* the data say nothing: null in reports */
  PLATELAG_KNOWN_VALUE,       /* value with interval; an infinite side is +-INFINITY */
  PLATELAG_KNOWN_UPPER_LIMIT, /* value NaN; at most `high` (low: the least it can be) */
  PLATELAG_KNOWN_LOWER_LIMIT, /* value NaN; at least `low` */
  PLATELAG_KNOWN_BRACKET      /* value NaN; between `low` and `high` */
} platelag_known;

/* A quantity with its 90 % interval. */
typedef struct platelag_estimate {
  platelag_known known;
  double value;
  double low;
  double high;
} platelag_estimate;

/* Whether the numbers settled. */
typedef enum platelag_convergence {
  PLATELAG_CONVERGED,
  PLATELAG_NOT_IDENTIFIABLE, /* it settled, but the data do not fix the parameters */
  PLATELAG_NO_DATA,
  PLATELAG_DIVERGED
} platelag_convergence;

/* How well one description explains the valid position samples. */
typedef struct platelag_score {
  platelag_convergence convergence;
  double log_likelihood; /* natural log, of travel in %, over `samples` */
  int parameters;        /* fitted, the noise included */
  double rms_pct;        /* of the residuals, % of travel */
  double samples;        /* effective number, reduced for autocorrelation */
} platelag_score;

/* Lag of the answer to a command. t63 contains the dead time. When the command was changed on the
 * recorder's own clock (`command_on_rows`), lags count from the first row that shows the change. */
typedef struct platelag_lag {
  platelag_estimate dead_time_s;
  platelag_estimate opening_t63_s;
  platelag_estimate closing_t63_s;
  platelag_estimate opening_tau_s;
  platelag_estimate closing_tau_s;
  platelag_estimate rate_pct_per_s; /* slew limit, where that description wins and a tau is more
                                       than an upper limit; else nothing */
  double skew_bound_s; /* systematic: one row period of polling skew, inside the intervals */
  bool command_on_rows;
  bool apart; /* opening and closing tau differ by more than chance */
} platelag_lag;

typedef struct platelag_friction {
  platelag_estimate stick_band_pct;
  platelag_estimate slip_jump_pct;
  platelag_estimate moving_pct; /* what plates that slid come to rest behind the command: (S - J) /
                                   2, the friction of moving plates */
  size_t reversals;             /* of the command, that could show it */
} platelag_friction;

/* Where the trace went. */
typedef struct platelag_travel {
  double closed_v, open_v;         /* the scale used, in volts; NaN when the unit hides volts */
  double closed_level, open_level; /* the same in the unit recorded */
  double lowest_pct, highest_pct;  /* of valid readings (1st and 99th percentile, settled or not) */
  platelag_scale scale;
  double rest_closed_pct, rest_open_pct; /* settled level at the lowest and highest command; NaN */
  double visited_share;                  /* of 20 bins of travel 0..100 */
  bool closed_stop_reached,
      open_stop_reached; /* within the short-travel limit of the stop, with the command there */
  bool closed_asked, open_asked; /* the command went there for long enough */
} platelag_travel;

/* What a position sample is. */
typedef enum platelag_mode {
  PLATELAG_MODE_FOLLOWING,
  PLATELAG_MODE_HELD,
  PLATELAG_MODE_AT_STOP,
  PLATELAG_MODE_RAIL_LOW, /* the four from here on are void */
  PLATELAG_MODE_RAIL_HIGH,
  PLATELAG_MODE_ERRATIC,
  PLATELAG_MODE_FROZEN,
  PLATELAG_MODE_COUNT
} platelag_mode;

PLATELAG_API const char *platelag_mode_name(platelag_mode mode);
static inline bool platelag_mode_is_void(platelag_mode mode) {
  return mode >= PLATELAG_MODE_RAIL_LOW && mode < PLATELAG_MODE_COUNT;
}

/* A stretch of samples of one mode. */
typedef struct platelag_mode_span {
  int64_t from_ns, to_ns; /* first and last sample */
  size_t first_sample, sample_count;
  platelag_mode mode;
  double level_mean; /* in the recorded unit */
} platelag_mode_span;

/* A held interval: the plates did not move while they were pulled. */
typedef struct platelag_held {
  int64_t from_ns, to_ns;
  double position_pct;     /* travel at which they stuck */
  double command_pct;      /* travel that the command asked for, at the end */
  double pull_pct;         /* largest pull while held; signed */
  double effort_pull_pct;  /* the same by the duty that a controller made meanwhile; NaN without */
  double entry_jump_pct;   /* by which the readings came there in one sample, signed; 0 where the
                              plates stood there well before they were pulled */
  double release_jump_pct; /* the jump that ended it, signed; 0 where the pull eased first,
                              NaN where the trace or segment ended */
} platelag_held;

/* How a step ended. */
typedef enum platelag_step_end {
  PLATELAG_STEP_SETTLED,
  PLATELAG_STEP_INTERRUPTED, /* the command moved on first */
  PLATELAG_STEP_STUCK,       /* came to a halt short of where it should */
  PLATELAG_STEP_NO_MOVE,
  PLATELAG_STEP_VOID, /* void readings hide it */
  PLATELAG_STEP_CUT   /* the segment ended */
} platelag_step_end;

PLATELAG_API const char *platelag_step_end_name(platelag_step_end end);

/* One command change, measured with a ruler: no model. NaN where it cannot be measured. Times count
 * from the middle between the last old and the first new command sample. */
typedef struct platelag_step {
  int64_t at_ns;
  double command_from, command_to; /* in the command's unit */
  double from_pct, to_pct;         /* travel before and after */
  double dead_time_s, t63_s, t86_s;
  double overshoot_pct;
  double rest_error_pct; /* settled travel less the fitted target */
  double timing_error_s; /* half the time the change and the sampling leave open */
  platelag_step_end end;
} platelag_step;

/* The signal itself, without any model. Shares are of the time recorded. */
typedef struct platelag_signal {
  bool rails_visible; /* false in % open: the controller's scaling hides the rails */
  double high_share, low_share;
  double longest_high_s, longest_low_s;
  int64_t first_high_ns,
      first_low_ns;      /* when the hold time past the limit was first full; -1 never */
  double high_level_pct; /* median level while high, % of reference; NaN */
  double low_level_pct;
  double high_noise_pct; /* sd of successive differences / sqrt 2 while high, % of reference; NaN */
  double noise_pct;      /* the same, of valid samples while still, % of travel */
  double repeat_share;   /* of successive samples, while still, that are equal to the last digit */
  size_t void_count;     /* separate void spans */
  double void_share;     /* of samples */
  size_t dropout_count;  /* void spans that come back to where the plates would be */
  size_t jumps;          /* held plates that let go with a jump */
  size_t jumps_towards;  /* of those, the way they were pulled */
  size_t jumps_command_still; /* of those, while the command had not moved lately */
  double
      void_travel_spread_pct; /* robust sd of the travel at which void spans begin; NaN below 3 */
  double void_travel_pct;     /* its median */
  double fastest_pct_per_s;   /* fastest move that held its level on the next sample */
  double moving_share;        /* share of void spans that began while the plates were moving */
} platelag_signal;

/* What the record allows to be said. */
typedef struct platelag_coverage {
  double command_span_pct;   /* of the command's own full range where known, else of travel asked */
  size_t openings, closings; /* command moves of 10 % of travel or more, each way */
  double samples_per_move;   /* position samples within the fitted t86, median; NaN */
  double recorded_s;         /* without gaps */
  double gap_share;
  double position_span_pct; /* 1st to 99th percentile of travel, void readings included */
  double still_share;       /* of samples within noise of their neighbours */
} platelag_coverage;

/* Closed loop: the controller moves the duty until the position fits. */
typedef struct platelag_loop {
  bool closed;             /* position is no function of the command */
  double lead_correlation; /* of the plates' moves with what the duty did next, -1 to 1; NaN */
  double restless_share;   /* of the time in which plates stood: the duty moved all the same; NaN */
  double effort_while_held_pct; /* how far the effort climbed while plates held, median; NaN */
} platelag_loop;

/* Change of friction or lag over the capture. */
typedef struct platelag_warm_up {
  platelag_estimate held_share_cold, held_share_warm; /* cold and warm part by temperature, else
                                                         first and last third of the time */
  bool by_temperature;
} platelag_warm_up;

/* Other channels that answer the command although (or because) the position does (not). */
typedef struct platelag_auxiliary {
  size_t steps;          /* command steps that were looked at */
  double airflow_answer; /* t-like statistic of manifold pressure, air flow or speed after a step;
                            NaN */
  double current_moving_a, current_commanded_a; /* actuator current; NaN without */
  double supply_sag_share; /* share of void spans with the battery voltage down; NaN */
  double reference_sag_share;
  double lag_supply_correlation; /* of step t63 with battery voltage; NaN */
} platelag_auxiliary;

#define PLATELAG_MAP_KNOTS 9

typedef struct platelag_fit {
  /* static map: the travel a command asks for in the end, linear between knots in order of command,
   * constant beyond them, monotone; no knots: unknown */
  size_t map_knots;
  double map_command[PLATELAG_MAP_KNOTS];
  double map_pct[PLATELAG_MAP_KNOTS];
  double map_low_pct, map_high_pct; /* target at lowest and highest command */
  bool map_rising;                  /* a higher command opens */
  platelag_lag lag;
  platelag_friction friction;
  platelag_travel travel;
  platelag_signal signal;
  platelag_coverage coverage;
  platelag_loop loop;
  platelag_warm_up warm_up;
  platelag_auxiliary auxiliary;

  /* the same record under competing descriptions; all but that with friction leave out the samples
   * of held spans */
  platelag_score constant;       /* the plates never move */
  platelag_score prompt;         /* follows at once (static map only) */
  platelag_score free;           /* dead time and first order, no friction */
  platelag_score friction_score; /* the same with the stiction element */
  platelag_score slewing;        /* slew limit in place of first order */

  size_t span_count;
  const platelag_mode_span *span;
  size_t held_count;
  const platelag_held *held;
  size_t step_count;
  const platelag_step *step; /* at most 5000, the largest; in order of time */
  size_t steps_in_trace;
  double held_share;           /* of the time in which the plates were pulled */
  double held_profile_pct[20]; /* held seconds by bin of travel 0..100 */

  struct plag_fit_store *store; /* the fit's own */
} platelag_fit;

/* Scratch memory of the model, one per thread, kept from capture to capture. */
typedef struct platelag_workspace platelag_workspace;
PLATELAG_API platelag_status platelag_workspace_create(platelag_workspace **out,
                                                       platelag_error *error);
PLATELAG_API void platelag_workspace_destroy(platelag_workspace *workspace);

/* Fits the trace. Numbers that do not settle are no failure: they are fields of the result. The
 * caller destroys `*out`, which is NULL on failure. Methods and sources: src/model. */
PLATELAG_API platelag_status platelag_fit_build(const platelag_trace *trace,
                                                const platelag_valve_spec *spec,
                                                platelag_workspace *workspace, platelag_fit **out,
                                                platelag_error *error);
PLATELAG_API void platelag_fit_destroy(platelag_fit *fit);

/* The travel in % that a command (in its own unit) asks for in the end, by the fitted map; NaN
 * where none is known. */
PLATELAG_API double platelag_fit_target_pct(const platelag_fit *fit, const platelag_trace *trace,
                                            double command);

#ifdef __cplusplus
}
#endif
#endif
