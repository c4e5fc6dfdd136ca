/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/facts.h"

#include <math.h>

#include "core/statistics.h"

/* Position movement below this is play, not travel, % of travel. */
#define MOVED_LEAST_PCT 5.0
/* Noise assumed where none could be measured, % of travel. */
#define NOISE_ASSUMED_PCT 0.5
/* Relative error of a lag or band below which an interval is not believed. */
#define LOG_SD_LEAST 0.04
/* More jumps than this add nothing: they are not independent. */
#define JUMPS_COUNTED 20.0
/* Half of a 90 % interval of a normal quantity in standard deviations. */
#define Z90 1.6448536269514722
/* Above this much a driver's current is a current, A. */
#define CURRENT_FLOWS_A 0.05
#define HELD_PLACES     64

static void set(plag_facts *facts, plag_feature feature, double value, double limit, double count) {
  facts->fact[feature] = (plag_fact){true, value, limit, count};
}

static double share_above(double low, double high, double limit) {
  if (!(high > low))
    return low > limit ? 1.0 : 0.0;
  return fmin(fmax((high - limit) / (high - low), 0.0), 1.0);
}

double plag_facts_above(const platelag_estimate *estimate, double limit) {
  switch (estimate->known) {
  case PLATELAG_KNOWN_VALUE: {
    const double value = fmax(estimate->value, 1e-3);
    const double low = fmax(estimate->low, 1e-3);
    const double below_sd = (log(value) - log(low)) / Z90;
    const double above_sd =
        isfinite(estimate->high) ? (log(fmax(estimate->high, value)) - log(value)) / Z90 : 1.0;
    const double z = log(value) - log(limit);
    const double sd = fmax(z > 0 ? below_sd : above_sd, LOG_SD_LEAST);
    return 0.5 * erfc(-z / sd * 0.70710678118654752440);
  }
  case PLATELAG_KNOWN_UPPER_LIMIT: {
    const double low = isfinite(estimate->low) ? fmax(estimate->low, 0) : 0;
    return isfinite(estimate->high) ? share_above(low, estimate->high, limit) : 0.5;
  }
  case PLATELAG_KNOWN_BRACKET:
    return isfinite(estimate->high) ? share_above(estimate->low, estimate->high, limit)
                                    : (estimate->low > limit ? 1.0 : 0.5);
  case PLATELAG_KNOWN_LOWER_LIMIT:
    return estimate->low > limit ? 1.0 : 0.5;
  case PLATELAG_KNOWN_NOTHING:
    break;
  }
  return 0.5;
}

static double central(const platelag_estimate *estimate) {
  if (estimate->known == PLATELAG_KNOWN_VALUE)
    return estimate->value;
  if (estimate->known == PLATELAG_KNOWN_LOWER_LIMIT)
    return estimate->low;
  return isfinite(estimate->high) ? estimate->high : estimate->low;
}

const platelag_estimate *plag_facts_slower(const platelag_lag *lag) {
  const platelag_estimate *opening = &lag->opening_t63_s;
  const platelag_estimate *closing = &lag->closing_t63_s;
  if (opening->known == PLATELAG_KNOWN_NOTHING)
    return closing->known == PLATELAG_KNOWN_NOTHING ? NULL : closing;
  if (closing->known == PLATELAG_KNOWN_NOTHING)
    return opening;
  return central(closing) > central(opening) ? closing : opening;
}

static void take_rails(plag_facts *facts, const platelag_signal *signal,
                       const platelag_valve_spec *spec) {
  if (!signal->rails_visible)
    return;
  facts->railed = signal->high_share > 0.5 || signal->low_share > 0.5;
  set(facts, PLAG_FEATURE_HIGH_SHARE, signal->high_share, NAN, 0);
  set(facts, PLAG_FEATURE_LOW_SHARE, signal->low_share, NAN, 0);
  if (signal->high_share < 0.05 || !isfinite(signal->high_level_pct))
    return;
  set(facts, PLAG_FEATURE_HIGH_LEVEL, signal->high_level_pct, spec->high_limit_pct, 0);
  if (isfinite(signal->high_noise_pct))
    set(facts, PLAG_FEATURE_HIGH_DITHER, signal->high_noise_pct, NAN, 0);
}

static double frozen_share(const platelag_fit *fit) {
  size_t frozen = 0;
  size_t all = 0;
  for (size_t i = 0; i < fit->span_count; i++) {
    all += fit->span[i].sample_count;
    if (fit->span[i].mode == PLATELAG_MODE_FROZEN)
      frozen += fit->span[i].sample_count;
  }
  return all > 0 ? (double)frozen / (double)all : 0;
}

static void take_chance(plag_facts *facts, plag_feature feature, size_t k, size_t n) {
  if (n < 2)
    return;
  const double scale = fmin(1.0, JUMPS_COUNTED / (double)n);
  set(facts, feature, floor((double)k * scale + 0.5), NAN, floor((double)n * scale + 0.5));
}

static void take_signal(plag_facts *facts, const platelag_fit *fit) {
  const platelag_signal *signal = &fit->signal;
  if (facts->commanded)
    set(facts, PLAG_FEATURE_FROZEN_SHARE, frozen_share(fit), NAN, 0);
  if (facts->railed)
    return;
  set(facts, PLAG_FEATURE_DROPOUTS, (double)signal->dropout_count, NAN,
      fit->coverage.recorded_s / 60.0);
  if (signal->noise_pct > 0 && facts->moved)
    set(facts, PLAG_FEATURE_NOISE, fmax(signal->noise_pct, 0.02), NAN, 0);
  take_chance(facts, PLAG_FEATURE_JUMP_DIRECTION, signal->jumps_towards, signal->jumps);
  take_chance(facts, PLAG_FEATURE_JUMP_UNASKED, signal->jumps_command_still, signal->jumps);
  if (signal->void_count < 3)
    return;
  if (isfinite(signal->void_travel_spread_pct))
    set(facts, PLAG_FEATURE_VOID_PLACE, signal->void_travel_spread_pct, NAN, 0);
  if (isfinite(signal->moving_share))
    set(facts, PLAG_FEATURE_VOID_MOVING, signal->moving_share, NAN, 0);
  const double sag =
      fmax(fit->auxiliary.supply_sag_share, fit->auxiliary.reference_sag_share); /* skips NaN */
  if (isfinite(sag))
    set(facts, PLAG_FEATURE_SAG, sag, NAN, 0);
}

static double travel_span(const platelag_fit *fit) {
  const double valid = fit->travel.highest_pct - fit->travel.lowest_pct;
  return isfinite(valid) ? valid : fit->coverage.position_span_pct;
}

static double noise(const platelag_fit *fit) {
  return isfinite(fit->signal.noise_pct) ? fit->signal.noise_pct : NOISE_ASSUMED_PCT;
}

static void take_moved(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace) {
  const platelag_coverage *coverage = &fit->coverage;
  facts->commanded = trace->command_kind != PLATELAG_COMMAND_ABSENT &&
                     coverage->command_span_pct >= PLAG_STILL_SPAN_PCT;
  const double clear = fmax(travel_span(fit) - 4.0 * noise(fit), 0);
  facts->moved = clear > MOVED_LEAST_PCT;
  if (facts->commanded && !facts->railed)
    set(facts, PLAG_FEATURE_MOVED, fmin(clear / fmin(coverage->command_span_pct, 100), 1), NAN, 0);
}

static void take_still(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace) {
  if (facts->moved || facts->railed || !facts->commanded)
    return;
  const double middle = 0.5 * (fit->travel.lowest_pct + fit->travel.highest_pct);
  if (trace->scale == PLATELAG_SCALE_SPEC && isfinite(middle))
    set(facts, PLAG_FEATURE_REST_GAP, fmin(fabs(middle), fabs(100 - middle)), NAN, 0);
  if (isfinite(fit->signal.repeat_share))
    set(facts, PLAG_FEATURE_STILL_DITHER, fit->signal.repeat_share > 0.99 ? 0 : noise(fit), NAN, 0);
}

static void take_held(plag_facts *facts, const platelag_fit *fit, const platelag_valve_spec *spec) {
  double place[HELD_PLACES];
  size_t places = 0;
  for (size_t i = 0; i < fit->held_count; i++) {
    if (fabs(fit->held[i].pull_pct) < spec->stick_band_limit_pct)
      continue;
    facts->held_beyond++;
    if (places < HELD_PLACES)
      place[places++] = fit->held[i].position_pct;
  }
  const double moves = (double)(fit->coverage.openings + fit->coverage.closings);
  if (moves > 0)
    set(facts, PLAG_FEATURE_HELD, facts->held_beyond, NAN, moves);
  if (places >= 3)
    set(facts, PLAG_FEATURE_HELD_PLACE, plag_median_deviation(place, places), NAN, 0);
  if (isfinite(fit->loop.effort_while_held_pct))
    set(facts, PLAG_FEATURE_EFFORT, fit->loop.effort_while_held_pct, NAN, 0);
  const platelag_warm_up *warm = &fit->warm_up;
  if (warm->held_share_cold.known == PLATELAG_KNOWN_VALUE &&
      warm->held_share_warm.known == PLATELAG_KNOWN_VALUE && facts->held_beyond > 0)
    set(facts, PLAG_FEATURE_WARM, warm->held_share_cold.value - warm->held_share_warm.value, NAN,
        0);
}

static void take_lag(plag_facts *facts, const platelag_fit *fit, const platelag_valve_spec *spec) {
  const platelag_lag *lag = &fit->lag;
  const platelag_estimate *slower = plag_facts_slower(lag);
  if (slower != NULL && !fit->loop.closed) {
    const double opening = plag_facts_above(&lag->opening_t63_s, spec->t63_limit_s);
    const double closing = plag_facts_above(&lag->closing_t63_s, spec->t63_limit_s);
    facts->t63_above = lag->opening_t63_s.known == PLATELAG_KNOWN_NOTHING ? closing
                       : lag->closing_t63_s.known == PLATELAG_KNOWN_NOTHING
                           ? opening
                           : fmax(opening, closing);
    set(facts, PLAG_FEATURE_T63, central(slower), spec->t63_limit_s,
        slower->known == PLATELAG_KNOWN_VALUE);
  }
  if (lag->opening_t63_s.known == PLATELAG_KNOWN_VALUE &&
      lag->closing_t63_s.known == PLATELAG_KNOWN_VALUE && !fit->loop.closed) {
    const double ratio =
        fmax(lag->opening_t63_s.value, 1e-3) / fmax(lag->closing_t63_s.value, 1e-3);
    set(facts, PLAG_FEATURE_T63_RATIO, fit->map_rising ? ratio : 1 / ratio, NAN, 0);
  }
  const platelag_estimate *band = &fit->friction.stick_band_pct;
  if (band->known != PLATELAG_KNOWN_NOTHING) {
    facts->stick_above = plag_facts_above(band, spec->stick_band_limit_pct);
    set(facts, PLAG_FEATURE_STICK_BAND, central(band), spec->stick_band_limit_pct,
        band->known == PLATELAG_KNOWN_VALUE);
  }
}

static void take_stops(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace,
                       const platelag_valve_spec *spec) {
  const platelag_travel *travel = &fit->travel;
  facts->closed_error_pct = travel->closed_asked ? travel->rest_closed_pct : NAN;
  facts->open_error_pct = travel->open_asked ? travel->rest_open_pct - 100 : NAN;
  facts->short_limit_pct = spec->short_travel_limit_pct;
  const double span = fabs(trace->open_level - trace->closed_level);
  /* Where volts are hidden the plates are taken to use half of the sensor's range. */
  facts->tolerance_pct = 100.0 * spec->tolerance_v /
                         (isfinite(trace->volts_per_level) ? span * fabs(trace->volts_per_level)
                                                           : 0.5 * trace->reference_v);
  facts->span_ratio = trace->closed_level / trace->open_level;
  if (trace->scale != PLATELAG_SCALE_SPEC || !isfinite(facts->closed_error_pct) ||
      !isfinite(facts->open_error_pct) || fit->loop.closed)
    return;
  const double furthest = fabs(facts->closed_error_pct) > fabs(facts->open_error_pct)
                              ? facts->closed_error_pct
                              : facts->open_error_pct;
  set(facts, PLAG_FEATURE_STOPS, furthest, fmin(facts->tolerance_pct, facts->short_limit_pct),
      fit->map_rising ? 1 : -1);
}

static double bic(const platelag_score *score) {
  if (score->convergence == PLATELAG_NO_DATA || score->convergence == PLATELAG_DIVERGED ||
      !isfinite(score->log_likelihood) || !(score->samples > 1))
    return NAN;
  return score->log_likelihood - 0.5 * (double)score->parameters * log(score->samples);
}

static void take_description(plag_facts *facts, const platelag_fit *fit) {
  const double constant = bic(&fit->constant);
  const double free_plates = fmax(bic(&fit->free), bic(&fit->slewing)); /* skips NaN */
  if (!isfinite(constant) || !isfinite(free_plates) || fit->loop.closed)
    return;
  const double friction = fmax(bic(&fit->friction_score), free_plates - 3.0);
  const double best = fmax(fmax(constant, free_plates), friction);
  facts->behind[PLAG_DESCRIPTION_CONSTANT] = best - constant;
  facts->behind[PLAG_DESCRIPTION_FREE] = best - free_plates;
  facts->behind[PLAG_DESCRIPTION_FRICTION] = best - friction;
  set(facts, PLAG_FEATURE_DESCRIPTION, friction - free_plates, NAN, 0);
}

static void take_auxiliary(plag_facts *facts, const platelag_fit *fit) {
  const platelag_auxiliary *other = &fit->auxiliary;
  if (other->steps >= 3 && isfinite(other->airflow_answer))
    set(facts, PLAG_FEATURE_AIR_ANSWER, other->airflow_answer, NAN, (double)other->steps);
  if (isfinite(other->current_commanded_a))
    set(facts, PLAG_FEATURE_CURRENT, other->current_commanded_a, CURRENT_FLOWS_A, 0);
  if (isfinite(other->lag_supply_correlation) && fit->step_count >= 6)
    set(facts, PLAG_FEATURE_LAG_SUPPLY, other->lag_supply_correlation, NAN, 0);
}

void plag_facts_take(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, plag_facts *facts) {
  *facts = (plag_facts){0};
  take_rails(facts, &fit->signal, spec);
  take_moved(facts, fit, trace);
  take_signal(facts, fit);
  take_still(facts, fit, trace);
  take_auxiliary(facts, fit);
  if (facts->railed)
    return;
  take_stops(facts, fit, trace, spec);
  if (!facts->commanded)
    return;
  take_description(facts, fit);
  if (!facts->moved)
    return;
  take_held(facts, fit, spec);
  take_lag(facts, fit, spec);
}
