/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The settings: two sets of constants that practice captures are made with. What is calibrated on
 * captures of the first is tested on captures of the second, whose vehicles, drivers, recorders and
 * faults are made otherwise. A setting holds ranges that are drawn from, and no equations. */
#ifndef PLAG_PRACTICE_SETTING_H
#define PLAG_PRACTICE_SETTING_H

#include <stdbool.h>
#include <stddef.h>

typedef struct plag_range {
  double low, high;
} plag_range;

/* A way of driving for a few seconds, and what is asked of the valve meanwhile. */
typedef struct plag_phase {
  double speed_rpm, throttle_pct;
  double least_s, most_s;
  double lowest_pct, highest_pct;
  bool opens; /* what a two-level command is */
} plag_phase;

enum { PLAG_PHASES = 5, PLAG_PHASE_IDLE = 0, PLAG_PHASE_TOWN = 1, PLAG_CONVERTERS = 4 };

typedef struct plag_setting {
  const char *name;

  /* the vehicle */
  plag_range travel_rad;
  plag_range static_share, coulomb_share; /* friction: of the span's torque, and of the static */
  double stribeck_share;                  /* of the travel in a second */
  double restitution;
  plag_range gas_share; /* of the span's torque */
  plag_range resistance_ohm, motor_nm, motor_low, motor_high, motor_lag_s, motor_unlike;
  plag_range motor_inertia, motor_dead_s;
  plag_range vacuum_kpa, vacuum_nm, vacuum_low, vacuum_high, vacuum_lag_s;
  plag_range vacuum_inertia, vacuum_dead_s, fill_s, vent_share;
  plag_range closed_v, open_v, noise_v;
  int converter_bits[PLAG_CONVERTERS];

  /* the driver and the controller */
  plag_phase phase[PLAG_PHASES];
  plag_range move_s; /* between what is asked and what is asked next */
  double ramp_chance;
  plag_range ramp_pct_per_s;
  double dither_chance; /* that the command is a step of its grid off, each task */

  /* the recorder */
  double jitter_share; /* of the row period, either way */
  double missing_chance, repeated_chance, gap_per_s;
  double poll_share; /* of the row period in which all channels are polled */

  /* the faults, where more than the severity makes them */
  plag_range jump_share; /* of the stick band */
  plag_range cold_per_degree;
  plag_range ridge_at, ridge_half_width;
  plag_range dropout_longest_s;
  double dropout_low_chance;
  plag_range dropout_high; /* share of the reference */
  plag_range sag_per_s;
  double worn_low_chance; /* that a reading at the worn spot falls to the low rail */
} plag_setting;

/* "first", "second", NULL at the end. */
extern const char *const plag_setting_names[];
const plag_setting *plag_setting_at(size_t index);

#endif
