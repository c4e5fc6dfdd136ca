/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/facts.h"

#include <math.h>

#include "core/statistics.h"
#include "judge/resting.h"

/* Position movement below this is play, not travel, % of travel. */
#define MOVED_LEAST_PCT 5.0
/* Noise that may hide movement, % of travel, and the evidence for movement that is asked then. */
#define NOISE_LARGE_PCT  3.0
#define MOVED_LEAST_NATS 20.0
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
/* A reference below this share of its middle is down; readings looked at, and needed. */
#define DIP_SHARE    0.96
#define DIPS_SAMPLED 2048
#define DIPS_LEAST   20
/* Held this near to where the plates end short counts as standing there, % of travel. */
#define AT_END_PCT 4.0
/* Held at a stop the pull must be this many times the limit: there a map is known least. */
#define AT_STOP_LIMITS 2.0
/* A drift is one from so many of its standard errors on. */
#define TREND_SURE_SD 3.0
/* A command change of this share of its span asks for a move that cannot be overlooked. */
#define LARGE_STEP 0.2
/* So many of them tell whether anything moves at all, and below this share nothing does. */
#define STEPS_LEAST    8
#define ANSWERED_LEAST 0.06
/* A duty beyond this asks for a full stop (a judgement): drives saturate before their end. */
#define FULL_DUTY_PCT 85.0
/* A desired position this near to a stop asks for it, % of travel. */
#define DESIRED_NEAR_PCT 10.0

static void set(plag_facts *facts, plag_feature feature, double value, double limit, double count) {
  facts->fact[feature] = (plag_fact){true, value, limit, count};
}

static double share_above(double low, double high, double limit) {
  if (!(high > low))
    return low > limit ? 1.0 : 0.0;
  /* What is only bounded may as well lie well below the bound as near to it. */
  return fmin(fmax((high - limit) / (high - low), 0.0), 0.5);
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

/* How far clean plates get between two samples of the position, half a full move at most. */
static double way_a_sample_pct(const platelag_fit *fit, const platelag_trace *trace) {
  const platelag_estimate *slower = plag_facts_slower(&fit->lag);
  const double t63_s = slower == NULL ? NAN : central(slower);
  if (!(t63_s > 0))
    return 25;
  return fmin(50 * trace->position_refresh_s / t63_s, 35);
}

/* Share of a channel's readings that are below 96 % of its middle. */
static double dips_of(const platelag_channel *channel) {
  double value[DIPS_SAMPLED];
  size_t count = 0;
  const size_t stride = channel->count / DIPS_SAMPLED + 1;
  for (size_t i = 0; i < channel->count; i += stride)
    if (isfinite(channel->value[i]))
      value[count++] = channel->value[i];
  const double limit = DIP_SHARE * plag_median(value, count);
  size_t low = 0;
  for (size_t i = 0; i < count; i++)
    low += value[i] < limit;
  return count < DIPS_LEAST ? NAN : (double)low / (double)count;
}

static void take_reference(plag_facts *facts, const platelag_trace *trace) {
  const platelag_channel *reference = trace->auxiliary[PLATELAG_ROLE_SENSOR_REFERENCE];
  const double dips = reference == NULL ? NAN : dips_of(reference);
  if (isfinite(dips))
    set(facts, PLAG_FEATURE_REFERENCE_DIPS, dips, NAN, 0);
}

static void take_signal(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace) {
  const platelag_signal *signal = &fit->signal;
  if (facts->commanded)
    set(facts, PLAG_FEATURE_FROZEN_SHARE, frozen_share(fit), NAN, 0);
  if (facts->railed)
    return;
  set(facts, PLAG_FEATURE_DROPOUTS, (double)signal->dropout_count, NAN,
      fit->coverage.recorded_s / 60.0);
  if (signal->noise_pct > 0 && facts->moved)
    set(facts, PLAG_FEATURE_NOISE, fmax(signal->noise_pct, 0.02), NAN, 0);
  /* A controller's command moves all the time, and away from where it was asked a moment ago. */
  if (!facts->controlled) {
    take_chance(facts, PLAG_FEATURE_JUMP_DIRECTION, signal->jumps_towards, signal->jumps);
    take_chance(facts, PLAG_FEATURE_JUMP_UNASKED, signal->jumps_command_still, signal->jumps);
  }
  if (signal->void_count < 3)
    return;
  if (isfinite(signal->void_travel_spread_pct))
    set(facts, PLAG_FEATURE_VOID_PLACE, signal->void_travel_spread_pct, NAN,
        way_a_sample_pct(fit, trace));
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

/* Travel that a desired position asks for. */
static double desired_pct(const platelag_trace *trace, double command) {
  const platelag_unit unit = trace->command->unit;
  if (unit == PLATELAG_UNIT_PERCENT && trace->level_unit != PLATELAG_LEVEL_PCT_REFERENCE)
    return command;
  if (unit == PLATELAG_UNIT_VOLT && trace->level_unit == PLATELAG_LEVEL_PCT_REFERENCE)
    return platelag_trace_travel_pct(trace, command / trace->volts_per_level);
  return platelag_trace_travel_pct(trace, command);
}

/* The travel asked for between the lowest and the highest command, %. */
static double asked_span_pct(const platelag_fit *fit, const platelag_trace *trace) {
  if (trace->command_kind != PLATELAG_COMMAND_DESIRED)
    return fmin(fit->coverage.command_span_pct, 100);
  const double span =
      fabs(desired_pct(trace, trace->command_highest) - desired_pct(trace, trace->command_lowest));
  return fmin(fmax(span, PLAG_STILL_SPAN_PCT), 100);
}

/* Share of the large command steps after which anything moved; NaN where there were too few. A
 * record that shows a single move, the one by which a signal freezes or plates jam for good, is
 * still. */
static double answered_share(const platelag_fit *fit, const platelag_trace *trace) {
  const double large = LARGE_STEP * (trace->command_highest - trace->command_lowest);
  size_t answered = 0;
  size_t dead = 0;
  for (size_t i = 0; i < fit->step_count; i++) {
    const platelag_step *step = &fit->step[i];
    if (fabs(step->command_to - step->command_from) < large)
      continue;
    dead += step->end == PLATELAG_STEP_NO_MOVE;
    answered += step->end == PLATELAG_STEP_SETTLED || step->end == PLATELAG_STEP_INTERRUPTED ||
                step->end == PLATELAG_STEP_STUCK;
  }
  return dead + answered < STEPS_LEAST ? NAN : (double)answered / (double)(dead + answered);
}

static double noise(const platelag_fit *fit) {
  return isfinite(fit->signal.noise_pct) ? fit->signal.noise_pct : NOISE_ASSUMED_PCT;
}

static double bic(const platelag_score *score) {
  if (score->convergence == PLATELAG_NO_DATA || score->convergence == PLATELAG_DIVERGED ||
      !isfinite(score->log_likelihood) || !(score->samples > 1))
    return NAN;
  return score->log_likelihood - 0.5 * (double)score->parameters * log(score->samples);
}

/* Noise can bury the movement in every reading, but not in all of them together: the travel that
 * the fitted map spans, where plates that follow it explain the record far better than plates that
 * stand; else 0. */
static double span_in_noise_pct(const platelag_fit *fit) {
  const double follows = fmax(bic(&fit->free), bic(&fit->prompt)); /* skips NaN */
  if (!(follows - bic(&fit->constant) > MOVED_LEAST_NATS))
    return 0;
  return fabs(fit->map_high_pct - fit->map_low_pct);
}

static void take_moved(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace) {
  facts->commanded = trace->command_kind != PLATELAG_COMMAND_ABSENT &&
                     fit->coverage.command_span_pct >= PLAG_STILL_SPAN_PCT;
  facts->two_level = trace->command_kind == PLATELAG_COMMAND_TWO_LEVEL;
  facts->controlled = trace->command_kind == PLATELAG_COMMAND_DESIRED;
  facts->loop_closed = fit->loop.closed && !facts->controlled;
  facts->absolute = trace->scale == PLATELAG_SCALE_SPEC;
  double share = fmax(travel_span(fit) - 4.0 * noise(fit), 0) / 100.0;
  if (noise(fit) > NOISE_LARGE_PCT)
    share = fmax(share, span_in_noise_pct(fit) / 100.0);
  facts->moved = share * 100.0 > MOVED_LEAST_PCT;
  if (facts->commanded)
    share = fmin(share * 100.0 / asked_span_pct(fit, trace), 1);
  /* Under heavy noise no single step shows an answer. */
  const double answered = noise(fit) > NOISE_LARGE_PCT ? NAN : answered_share(fit, trace);
  if (facts->commanded && answered < ANSWERED_LEAST) {
    facts->moved = false;
    share = fmin(share, answered);
  }
  if (facts->commanded && frozen_share(fit) > 0.5) {
    facts->moved = false;
    share = 0;
  }
  if (facts->commanded && !facts->railed)
    set(facts, PLAG_FEATURE_MOVED, share, NAN, 0);
}

static void take_still(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace) {
  if (facts->moved || facts->railed || !facts->commanded)
    return;
  const double middle = 0.5 * (fit->travel.lowest_pct + fit->travel.highest_pct);
  if (trace->scale == PLATELAG_SCALE_SPEC && isfinite(middle))
    set(facts, PLAG_FEATURE_REST_GAP, fmin(fabs(middle), fabs(100 - middle)), NAN, 0);
  const bool exact = fit->signal.repeat_share > 0.99 || frozen_share(fit) > 0.5;
  if (isfinite(fit->signal.repeat_share))
    set(facts, PLAG_FEATURE_STILL_DITHER, exact ? 0 : noise(fit), NAN, 0);
}

/* The pull by the desired position itself: a fitted map is bent where the controller is slow. */
static double pull_pct(const platelag_fit *fit, const platelag_trace *trace,
                       const platelag_held *held) {
  if (isfinite(held->effort_pull_pct)) /* what the drive asked; a controller lets no error stand */
    return fabs(held->effort_pull_pct);
  if (trace->command_kind != PLATELAG_COMMAND_DESIRED)
    return fabs(held->pull_pct);
  double command = held->command_pct <= fit->map_low_pct ? trace->command_lowest : NAN;
  for (size_t k = 1; k < fit->map_knots && isnan(command); k++) {
    const double from = fit->map_pct[k - 1];
    const double to = fit->map_pct[k];
    if (held->command_pct <= to && to > from)
      command = fit->map_command[k - 1] + (held->command_pct - from) / (to - from) *
                                              (fit->map_command[k] - fit->map_command[k - 1]);
  }
  if (isnan(command))
    return fabs(held->pull_pct);
  return fmin(fabs(desired_pct(trace, command) - held->position_pct), fabs(held->pull_pct));
}

/* Plates that stand where they always end, short of their stop, are stopped there and not held. Nor
 * is what a controller that has run past a stop leaves there until it has come back. */
static bool stands_at_short_end(const plag_facts *facts, const platelag_fit *fit,
                                double position_pct) {
  if (facts->controlled && (position_pct <= AT_END_PCT || position_pct >= 100 - AT_END_PCT))
    return true;
  const bool closed = facts->closed_error_pct >= facts->short_limit_pct &&
                      position_pct <= fit->travel.rest_closed_pct + AT_END_PCT;
  const bool open = -facts->open_error_pct >= facts->short_limit_pct &&
                    position_pct >= fit->travel.rest_open_pct - AT_END_PCT;
  return closed || open;
}

/* A controller's command rests while its duty moves the plates, so it tells nothing of them. */
static void take_resting(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace) {
  if (facts->controlled || fit->loop.closed)
    return;
  const platelag_estimate *slower = plag_facts_slower(&fit->lag);
  const plag_resting resting =
      plag_resting_look(fit, trace, slower == NULL ? NAN : central(slower));
  if (resting.minutes > 0)
    set(facts, PLAG_FEATURE_AWAY_LEAPS, resting.away_leaps, NAN, resting.minutes);
  if (isfinite(resting.trend_pct) && isfinite(resting.trend_sd_pct))
    set(facts, PLAG_FEATURE_TREND, resting.trend_pct, NAN, resting.trend_sd_pct);
}

/* The pull from which plates count as held at a place. Levels that drift feign half of what they
 * drift by. A position in % open that stands at an end may have been cut off there. */
static double pull_needed_pct(const plag_facts *facts, const platelag_trace *trace,
                              double position_pct, const platelag_valve_spec *spec) {
  const bool at_stop = position_pct <= AT_END_PCT || position_pct >= 100 - AT_END_PCT;
  const plag_fact *trend = &facts->fact[PLAG_FEATURE_TREND];
  const bool drifts = trend->present && fabs(trend->value) > TREND_SURE_SD * trend->count;
  if (at_stop && trace->level_unit == PLATELAG_LEVEL_PCT_OPEN)
    return INFINITY;
  return (at_stop ? AT_STOP_LIMITS : 1) * spec->stick_band_limit_pct +
         (drifts ? 0.5 * fabs(trend->value) : 0);
}

static void take_held(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace,
                      const platelag_valve_spec *spec) {
  double place[HELD_PLACES];
  size_t places = 0;
  for (size_t i = 0; i < fit->held_count; i++) {
    if (pull_pct(fit, trace, &fit->held[i]) <
        pull_needed_pct(facts, trace, fit->held[i].position_pct, spec))
      continue;
    if (stands_at_short_end(facts, fit, fit->held[i].position_pct))
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
  if (facts->held_beyond > 0 && isfinite(fit->loop.effort_while_held_pct))
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

/* What the plates miss at one end, % of travel; NaN where that end was not asked for. */
static double end_error_pct(const platelag_fit *fit, const platelag_trace *trace, bool open) {
  const platelag_travel *travel = &fit->travel;
  const double rest = open ? travel->rest_open_pct : travel->rest_closed_pct;
  const double stop = open ? 100 : 0;
  if (open ? !travel->open_asked : !travel->closed_asked)
    return NAN;
  const double command = open == fit->map_rising ? trace->command_highest : trace->command_lowest;
  if (trace->command_kind == PLATELAG_COMMAND_DESIRED) {
    const double asked = fmin(fmax(desired_pct(trace, command), 0), 100);
    return fabs(asked - stop) <= DESIRED_NEAR_PCT ? rest - asked : NAN;
  }
  const bool percent = trace->command->unit == PLATELAG_UNIT_PERCENT;
  if (trace->command_kind == PLATELAG_COMMAND_DUTY && percent) {
    const bool high = open == fit->map_rising;
    const bool full = high ? command >= FULL_DUTY_PCT : command <= 100 - FULL_DUTY_PCT;
    if (!full)
      return NAN;
  }
  return rest - stop;
}

static void take_stops(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace,
                       const platelag_valve_spec *spec) {
  facts->closed_error_pct = facts->open_error_pct = NAN;
  if (trace->command != NULL) {
    facts->closed_error_pct = end_error_pct(fit, trace, false);
    facts->open_error_pct = end_error_pct(fit, trace, true);
  }
  facts->short_limit_pct = spec->short_travel_limit_pct;
  const double span = fabs(trace->open_level - trace->closed_level);
  /* Where volts are hidden the plates are taken to use half of the sensor's range. */
  facts->tolerance_pct = 100.0 * spec->tolerance_v /
                         (isfinite(trace->volts_per_level) ? span * fabs(trace->volts_per_level)
                                                           : 0.5 * trace->reference_v);
  facts->span_ratio = trace->closed_level / trace->open_level;
  if (trace->scale != PLATELAG_SCALE_SPEC || !facts->moved || !isfinite(facts->closed_error_pct) ||
      !isfinite(facts->open_error_pct) || fit->loop.closed)
    return;
  const double furthest = fabs(facts->closed_error_pct) > fabs(facts->open_error_pct)
                              ? facts->closed_error_pct
                              : facts->open_error_pct;
  set(facts, PLAG_FEATURE_STOPS, furthest, fmin(facts->tolerance_pct, facts->short_limit_pct),
      fit->map_rising ? 1 : -1);
}

static void take_description(plag_facts *facts, const platelag_fit *fit,
                             const platelag_valve_spec *spec) {
  const double constant = bic(&fit->constant);
  double free_plates = fmax(bic(&fit->free), bic(&fit->slewing)); /* skips NaN */
  /* Every shaft has a little friction: a stick band within its limit is that of free plates. */
  if (fit->friction.stick_band_pct.known != PLATELAG_KNOWN_NOTHING &&
      plag_facts_above(&fit->friction.stick_band_pct, spec->stick_band_limit_pct) < 0.3)
    free_plates = fmax(free_plates, bic(&fit->friction_score));
  /* A controller takes away what friction does to the steps. */
  if (!isfinite(constant) || !isfinite(free_plates) || fit->loop.closed || facts->controlled)
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
  if (facts->commanded && isfinite(other->current_commanded_a))
    set(facts, PLAG_FEATURE_CURRENT, other->current_commanded_a, CURRENT_FLOWS_A, 0);
  if (isfinite(other->lag_supply_correlation) && fit->step_count >= 6)
    set(facts, PLAG_FEATURE_LAG_SUPPLY, other->lag_supply_correlation, NAN, 0);
}

void plag_facts_take(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, plag_facts *facts) {
  *facts = (plag_facts){0};
  take_rails(facts, &fit->signal, spec);
  take_moved(facts, fit, trace);
  take_signal(facts, fit, trace);
  take_reference(facts, trace);
  take_still(facts, fit, trace);
  take_auxiliary(facts, fit);
  if (facts->railed)
    return;
  take_stops(facts, fit, trace, spec);
  if (!facts->commanded || !facts->moved)
    return;
  take_description(facts, fit, spec);
  take_resting(facts, fit, trace);
  take_held(facts, fit, trace, spec);
  take_lag(facts, fit, spec);
}
