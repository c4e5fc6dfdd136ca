/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_fit.h"

#include <math.h>
#include <string.h>

static platelag_estimate about(double value, double part) {
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value * (1 - part), value * (1 + part)};
}

static platelag_score score(double log_likelihood, int parameters) {
  return (platelag_score){PLATELAG_CONVERGED, log_likelihood, parameters, 1.3, 2300};
}

static const platelag_channel command_channel = {
    .name = "Runner duty", .unit_text = "%", .unit = PLATELAG_UNIT_PERCENT};

static void describe_channels(plag_test_record *record) {
  record->spec = (platelag_valve_spec){.closed_v = 1.20,
                                       .open_v = 3.75,
                                       .reference_v = 5.0,
                                       .tolerance_v = 0.50,
                                       .high_limit_pct = 90,
                                       .low_limit_pct = 5,
                                       .hold_time_s = 0.5,
                                       .t63_limit_s = 0.70,
                                       .stick_band_limit_pct = 8,
                                       .short_travel_limit_pct = 12,
                                       .decide_at = 0.70};
  record->trace = (platelag_trace){.valve = "bank 1",
                                   .bank = 1,
                                   .condition = PLATELAG_CONDITION_ROAD,
                                   .command_kind = PLATELAG_COMMAND_DUTY,
                                   .command = &command_channel,
                                   .command_lowest = 4.7,
                                   .command_highest = 91.8,
                                   .change_count = 143,
                                   .sample_count = 6000,
                                   .level_unit = PLATELAG_LEVEL_VOLT,
                                   .position_refresh_s = 0.1,
                                   .row_period_s = 0.1,
                                   .scale = PLATELAG_SCALE_SPEC,
                                   .closed_level = 1.20,
                                   .open_level = 3.75,
                                   .volts_per_level = 1,
                                   .reference_v = 5.0};
}

void plag_test_make_healthy(plag_test_record *record) {
  memset(record, 0, sizeof *record);
  describe_channels(record);
  platelag_fit *fit = &record->fit;
  fit->map_high_pct = 100;
  fit->map_rising = true;
  fit->travel = (platelag_travel){.closed_v = 1.20,
                                  .open_v = 3.75,
                                  .closed_level = 1.20,
                                  .open_level = 3.75,
                                  .lowest_pct = 0.7,
                                  .highest_pct = 99.1,
                                  .scale = PLATELAG_SCALE_SPEC,
                                  .rest_closed_pct = 0.9,
                                  .rest_open_pct = 98.7,
                                  .visited_share = 0.95,
                                  .closed_stop_reached = true,
                                  .open_stop_reached = true,
                                  .closed_asked = true,
                                  .open_asked = true};
  fit->signal = (platelag_signal){.rails_visible = true,
                                  .first_high_ns = -1,
                                  .first_low_ns = -1,
                                  .high_level_pct = NAN,
                                  .low_level_pct = NAN,
                                  .high_noise_pct = NAN,
                                  .noise_pct = 0.41,
                                  .repeat_share = 0.31,
                                  .void_travel_spread_pct = NAN,
                                  .void_travel_pct = NAN,
                                  .fastest_pct_per_s = 413,
                                  .moving_share = NAN};
  fit->coverage = (platelag_coverage){.command_span_pct = 87.1,
                                      .openings = 47,
                                      .closings = 46,
                                      .samples_per_move = 4.3,
                                      .recorded_s = 599.9,
                                      .position_span_pct = 98.4,
                                      .still_share = 0.71};
  fit->loop.effort_while_held_pct = NAN;
  fit->auxiliary = (platelag_auxiliary){.airflow_answer = NAN,
                                        .current_moving_a = NAN,
                                        .current_commanded_a = NAN,
                                        .supply_sag_share = NAN,
                                        .reference_sag_share = NAN,
                                        .lag_supply_correlation = NAN};
  fit->constant = score(-11000, 2);
  fit->prompt = score(-7000, 4);
  fit->free = score(-3870, 8);
  fit->friction_score = score(-3869, 10);
  fit->slewing = score(-4100, 8);
  fit->friction.stick_band_pct = (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 2.9};
  fit->held = record->held;
  fit->span = record->span;
  record->span[0] = (platelag_mode_span){0, 599900000000, 0, 6000, PLATELAG_MODE_FOLLOWING, 2.4};
  fit->span_count = 1;
  for (int i = 0; i < 8; i++)
    record->step[i] = (platelag_step){.at_ns = 1000000 * (7100 + 11900 * (int64_t)i),
                                      .t63_s = 0.27,
                                      .end = PLATELAG_STEP_SETTLED};
  fit->step = record->step;
  plag_test_lag(record, 0.23, 0.31);
}

void plag_test_lag(plag_test_record *record, double opening_t63_s, double closing_t63_s) {
  record->fit.lag.opening_t63_s = about(opening_t63_s, 0.09);
  record->fit.lag.closing_t63_s = about(closing_t63_s, 0.09);
}

void plag_test_hold(plag_test_record *record, size_t count, double place_pct, double spread_pct) {
  for (size_t i = 0; i < count && i < PLAG_TEST_HELD_MOST; i++) {
    const int64_t from_ns = 1000000 * (7300 + 11900 * (int64_t)i);
    record->held[i] =
        (platelag_held){.from_ns = from_ns,
                        .to_ns = from_ns + 2385000000,
                        .position_pct = place_pct + spread_pct * ((double)(i % 5) - 2) / 2,
                        .command_pct = 71.3,
                        .pull_pct = i % 2 ? 19.7 : -17.9,
                        .effort_pull_pct = NAN,
                        .entry_jump_pct = 0,
                        .release_jump_pct = i % 2 ? 14.1 : -12.7};
  }
  record->fit.held_count = count;
  record->fit.friction_score.log_likelihood = -3510;
}

static void hide_movement(plag_test_record *record) {
  platelag_fit *fit = &record->fit;
  fit->lag = (platelag_lag){0};
  fit->friction = (platelag_friction){0};
  fit->travel.rest_closed_pct = fit->travel.rest_open_pct = NAN;
  fit->constant = score(-2900, 2);
  fit->prompt = fit->free = fit->friction_score = score(-2899, 6);
  fit->slewing = score(-2899, 6);
  fit->coverage.openings = fit->coverage.closings = 0;
}

void plag_test_pin_high(plag_test_record *record, double level_pct, double noise_pct) {
  hide_movement(record);
  platelag_fit *fit = &record->fit;
  fit->signal.high_share = 0.997;
  fit->signal.longest_high_s = 598.1;
  fit->signal.first_high_ns = 731000000;
  fit->signal.high_level_pct = level_pct;
  fit->signal.high_noise_pct = noise_pct;
  fit->signal.noise_pct = NAN;
  fit->signal.repeat_share = NAN;
  fit->signal.void_count = 1;
  fit->signal.void_share = 0.997;
  fit->travel.lowest_pct = fit->travel.highest_pct = NAN;
  fit->coverage.position_span_pct = 0.8;
  record->span[0].mode = PLATELAG_MODE_RAIL_HIGH;
}

void plag_test_pin_low(plag_test_record *record, double level_pct) {
  plag_test_pin_high(record, NAN, NAN);
  platelag_signal *signal = &record->fit.signal;
  signal->high_share = signal->longest_high_s = 0;
  signal->first_high_ns = -1;
  signal->low_share = 0.996;
  signal->longest_low_s = 597.3;
  signal->first_low_ns = 811000000;
  signal->low_level_pct = level_pct;
  record->span[0].mode = PLATELAG_MODE_RAIL_LOW;
}

void plag_test_stand_still(plag_test_record *record, double travel_pct, bool dither) {
  hide_movement(record);
  platelag_fit *fit = &record->fit;
  fit->travel.lowest_pct = travel_pct - 0.6;
  fit->travel.highest_pct = travel_pct + 0.6;
  fit->coverage.position_span_pct = 1.2;
  fit->signal.repeat_share = dither ? 0.37 : 1.0;
  fit->signal.noise_pct = dither ? 0.39 : 0;
  if (!dither)
    record->span[0].mode = PLATELAG_MODE_FROZEN;
}

void plag_test_drop_out(plag_test_record *record, size_t count, double spread_pct,
                        double moving_share) {
  platelag_signal *signal = &record->fit.signal;
  signal->void_count = signal->dropout_count = count;
  signal->void_share = 0.0021 * (double)count;
  signal->void_travel_spread_pct = spread_pct;
  signal->void_travel_pct = 43.7;
  signal->moving_share = moving_share;
  signal->jumps = 2 * count;
  signal->jumps_towards = count;
  signal->jumps_command_still = count;
}

void plag_test_sweep(plag_test_record *record, double span_pct, size_t spots) {
  record->trace.condition = PLATELAG_CONDITION_HAND_SWEEP;
  record->trace.command_kind = PLATELAG_COMMAND_ABSENT;
  record->trace.change_count = 0;
  hide_movement(record);
  record->fit.coverage.command_span_pct = 0;
  record->fit.coverage.position_span_pct = span_pct;
  record->fit.coverage.recorded_s = 41.7;
  record->fit.signal.dropout_count = record->fit.signal.void_count = spots;
  for (size_t i = 0; i < spots && i < 15; i++)
    record->span[1 + i] = (platelag_mode_span){.from_ns = 1000000 * (5100 + 6700 * (int64_t)i),
                                               .to_ns = 1000000 * (5300 + 6700 * (int64_t)i),
                                               .sample_count = 3,
                                               .mode = PLATELAG_MODE_ERRATIC,
                                               .level_mean = 0.73};
  record->fit.span_count = 1 + (spots < 15 ? spots : 15);
}
