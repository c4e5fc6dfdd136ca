/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/facts.h"

#include <math.h>

#include "judge/facts_parts.h"
#include "judge/resting.h"

/* More events than this add nothing: they are not independent. */
#define EVENTS_COUNTED 20.0
/* Above this much a driver's current is a current, A. */
#define CURRENT_FLOWS_A 0.05
/* A duty beyond this asks for a full stop (a judgement): drives saturate before their end. */
#define FULL_DUTY_PCT 85.0
/* A desired position this near to a stop asks for it, % of travel. */
#define DESIRED_NEAR_PCT 10.0

void plag_facts_set(plag_facts *facts, plag_feature feature, double value, double limit,
                    double count) {
  facts->fact[feature] = (plag_fact){true, value, limit, count};
}

void plag_facts_set_chance(plag_facts *facts, plag_feature feature, size_t k, size_t n) {
  if (n < 2)
    return;
  const double scale = fmin(1.0, EVENTS_COUNTED / (double)n);
  plag_facts_set(facts, feature, floor((double)k * scale + 0.5), NAN,
                 floor((double)n * scale + 0.5));
}

/* A duty that follows the position rests nowhere. A desired position rests; what drifts behind it
 * shows in the duty alone. */
static void take_resting(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace) {
  if (fit->loop.closed && !facts->controlled)
    return;
  const platelag_estimate *slower = plag_facts_slower(&fit->lag);
  const plag_resting resting =
      plag_resting_look(fit, trace, slower == NULL ? NAN : plag_facts_central(slower));
  if (resting.minutes > 0)
    plag_facts_set(facts, PLAG_FEATURE_AWAY_LEAPS, resting.away_leaps, NAN, resting.minutes);
  const bool drift_shows = !facts->controlled || trace->effort != NULL;
  if (drift_shows && isfinite(resting.trend_pct) && isfinite(resting.trend_sd_pct))
    plag_facts_set(facts, PLAG_FEATURE_TREND, resting.trend_pct, NAN, resting.trend_sd_pct);
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
    plag_facts_set(facts, PLAG_FEATURE_T63, plag_facts_central(slower), spec->t63_limit_s,
                   slower->known == PLATELAG_KNOWN_VALUE);
  }
  if (lag->opening_t63_s.known == PLATELAG_KNOWN_VALUE &&
      lag->closing_t63_s.known == PLATELAG_KNOWN_VALUE && !fit->loop.closed) {
    const double ratio =
        fmax(lag->opening_t63_s.value, 1e-3) / fmax(lag->closing_t63_s.value, 1e-3);
    plag_facts_set(facts, PLAG_FEATURE_T63_RATIO, fit->map_rising ? ratio : 1 / ratio, NAN, 0);
  }
  const platelag_estimate *band = &fit->friction.stick_band_pct;
  if (band->known != PLATELAG_KNOWN_NOTHING) {
    facts->stick_above = plag_facts_above(band, spec->stick_band_limit_pct);
    plag_facts_set(facts, PLAG_FEATURE_STICK_BAND, plag_facts_central(band),
                   spec->stick_band_limit_pct, band->known == PLATELAG_KNOWN_VALUE);
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
    const double asked = fmin(fmax(plag_facts_desired_pct(trace, command), 0), 100);
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
  plag_facts_set(facts, PLAG_FEATURE_STOPS, furthest,
                 fmin(facts->tolerance_pct, facts->short_limit_pct), fit->map_rising ? 1 : -1);
}

static void take_description(plag_facts *facts, const platelag_fit *fit,
                             const platelag_valve_spec *spec) {
  const double constant = plag_facts_bic(&fit->constant);
  double free_plates =
      fmax(plag_facts_bic(&fit->free), plag_facts_bic(&fit->slewing)); /* skips NaN */
  /* Every shaft has a little friction: a stick band within its limit is that of free plates. */
  if (fit->friction.stick_band_pct.known != PLATELAG_KNOWN_NOTHING &&
      plag_facts_above(&fit->friction.stick_band_pct, spec->stick_band_limit_pct) < 0.3)
    free_plates = fmax(free_plates, plag_facts_bic(&fit->friction_score));
  /* A controller takes away what friction does to the steps. */
  if (!isfinite(constant) || !isfinite(free_plates) || fit->loop.closed || facts->controlled)
    return;
  const double friction = fmax(plag_facts_bic(&fit->friction_score), free_plates - 3.0);
  const double best = fmax(fmax(constant, free_plates), friction);
  facts->behind[PLAG_DESCRIPTION_CONSTANT] = best - constant;
  facts->behind[PLAG_DESCRIPTION_FREE] = best - free_plates;
  facts->behind[PLAG_DESCRIPTION_FRICTION] = best - friction;
  plag_facts_set(facts, PLAG_FEATURE_DESCRIPTION, friction - free_plates, NAN, 0);
}

static void take_auxiliary(plag_facts *facts, const platelag_fit *fit) {
  const platelag_auxiliary *other = &fit->auxiliary;
  if (other->steps >= 3 && isfinite(other->airflow_answer))
    plag_facts_set(facts, PLAG_FEATURE_AIR_ANSWER, other->airflow_answer, NAN,
                   (double)other->steps);
  if (facts->commanded && isfinite(other->current_commanded_a))
    plag_facts_set(facts, PLAG_FEATURE_CURRENT, other->current_commanded_a, CURRENT_FLOWS_A, 0);
  if (isfinite(other->lag_supply_correlation) && fit->step_count >= 6)
    plag_facts_set(facts, PLAG_FEATURE_LAG_SUPPLY, other->lag_supply_correlation, NAN, 0);
}

void plag_facts_take(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, plag_facts *facts) {
  *facts = (plag_facts){0};
  plag_facts_take_rails(facts, &fit->signal, spec);
  plag_facts_take_moved(facts, fit, trace);
  plag_facts_take_signal(facts, fit, trace);
  plag_facts_take_reference(facts, trace);
  plag_facts_take_still(facts, fit, trace);
  take_auxiliary(facts, fit);
  if (facts->railed)
    return;
  take_stops(facts, fit, trace, spec);
  if (!facts->commanded || !facts->moved)
    return;
  take_description(facts, fit, spec);
  take_resting(facts, fit, trace);
  plag_facts_take_held(facts, fit, trace, spec);
  take_lag(facts, fit, spec);
}
