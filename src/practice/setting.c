/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/setting.h"

/* Values of the healthy valve: order of magnitude of small flap actuators, common practice, no
 * source. Nobody has published how faults spread, so both settings are judgements; the second is
 * made unlike the first wherever a judgement could have come out otherwise. */
static const plag_setting first = {
    .name = "first",
    .travel_rad = {1.1, 1.4},
    .static_share = {0.004, 0.010}, /* 0.6-1.6 % of travel to leave, a little less in motion */
    .coulomb_share = {0.7, 0.9},
    .stribeck_share = 0.015,
    .restitution = 0.15,
    .gas_share = {0.001, 0.004},
    .resistance_ohm = {10, 14},
    .motor_nm = {0.38, 0.55},
    .motor_low = {0.05, 0.10},
    .motor_high = {0.88, 0.95},
    .motor_lag_s = {0.10, 0.26},
    .motor_unlike = {0.85, 1.25},
    .motor_inertia = {0.8e-4, 1.6e-4},
    .motor_dead_s = {0.015, 0.060},
    .vacuum_kpa = {45, 60},
    .vacuum_nm = {0.45, 0.70},
    .vacuum_low = {0.06, 0.12},
    .vacuum_high = {0.86, 0.94},
    .vacuum_lag_s = {0.015, 0.030},
    .vacuum_inertia = {0.9e-4, 1.8e-4},
    .vacuum_dead_s = {0.025, 0.080},
    .fill_s = {0.12, 0.26},
    .vent_share = {0.7, 1.3},
    .closed_v = {1.05, 1.30},
    .open_v = {3.60, 3.95},
    .noise_v = {0.003, 0.010},
    .converter_bits = {8, 10, 10, 12},
    .phase = {{790, 3, 3, 8, 3, 12, false},     /* idle */
              {1700, 18, 4, 9, 18, 45, false},  /* town */
              {2600, 35, 4, 9, 40, 72, true},   /* brisk */
              {4200, 78, 3, 7, 84, 97, true},   /* overtaking */
              {1900, 0.5, 2, 5, 4, 28, false}}, /* overrun */
    .move_s = {1.6, 4.5},
    .ramp_chance = 0.22,
    .ramp_pct_per_s = {9, 32},
    .dither_chance = 0,
    .jitter_share = 0.03,
    .missing_chance = 0.001,
    .repeated_chance = 0.012,
    .gap_per_s = 1.0 / 300,
    .poll_share = 0.8,
    .jump_share = {0.3, 0.6},
    .cold_per_degree = {0.001, 0.005},
    .ridge_at = {0.3, 0.7},
    .ridge_half_width = {0.04, 0.07},
    .dropout_longest_s = {0.4, 0.9},
    .dropout_low_chance = 0.5,
    .dropout_high = {0.93, 0.995},
    .sag_per_s = {0.10, 0.16},
    .worn_low_chance = 0.75,
};

static const plag_setting second = {
    .name = "second",
    .travel_rad = {0.8, 1.2},
    .static_share = {0.003, 0.014},
    .coulomb_share = {0.55, 0.95},
    .stribeck_share = 0.03,
    .restitution = 0.3,
    .gas_share = {0.0005, 0.006},
    .resistance_ohm = {4, 9},
    .motor_nm = {0.25, 0.42},
    .motor_low = {0.08, 0.16},
    .motor_high = {0.80, 0.90},
    .motor_lag_s = {0.07, 0.34},
    .motor_unlike = {0.7, 1.5},
    .motor_inertia = {0.4e-4, 1.1e-4},
    .motor_dead_s = {0.010, 0.090},
    .vacuum_kpa = {35, 70},
    .vacuum_nm = {0.35, 0.90},
    .vacuum_low = {0.10, 0.18},
    .vacuum_high = {0.78, 0.90},
    .vacuum_lag_s = {0.010, 0.045},
    .vacuum_inertia = {0.6e-4, 2.4e-4},
    .vacuum_dead_s = {0.020, 0.120},
    .fill_s = {0.09, 0.34},
    .vent_share = {0.5, 1.5},
    .closed_v = {1.25, 1.60},
    .open_v = {3.20, 3.60},
    .noise_v = {0.002, 0.016},
    .converter_bits = {10, 8, 10, 8},
    .phase = {{850, 4, 4, 11, 0, 9, false},     /* idle */
              {1500, 14, 3, 10, 12, 52, false}, /* town */
              {2900, 42, 3, 8, 46, 80, true},   /* brisk */
              {3800, 85, 4, 9, 90, 100, true},  /* overtaking */
              {1700, 0.5, 3, 7, 2, 20, false}}, /* overrun */
    .move_s = {1.1, 6.5},
    .ramp_chance = 0.40,
    .ramp_pct_per_s = {5, 60},
    .dither_chance = 0.02,
    .jitter_share = 0.11,
    .missing_chance = 0.004,
    .repeated_chance = 0.03,
    .gap_per_s = 1.0 / 140,
    .poll_share = 0.95,
    .jump_share = {0.15, 0.75},
    .cold_per_degree = {0, 0.008},
    .ridge_at = {0.2, 0.8},
    .ridge_half_width = {0.025, 0.09},
    .dropout_longest_s = {0.25, 1.5},
    .dropout_low_chance = 0.75,
    .dropout_high = {0.90, 1.0},
    .sag_per_s = {0.06, 0.2},
    .worn_low_chance = 0.5,
};

static const plag_setting *const settings[] = {&first, &second};

const char *const plag_setting_names[] = {"first", "second", NULL};

const plag_setting *plag_setting_at(size_t index) {
  return settings[index];
}
