/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Facts of held intervals: how often, where, and how they began. */
#include "judge/facts_parts.h"

#include <math.h>

#include "core/statistics.h"

#define HELD_PLACES 64
/* Held this near to where the plates end short counts as standing there, % of travel. */
#define AT_END_PCT 4.0
/* Held at a stop the pull must be this many times the limit: there a map is known least. */
#define AT_STOP_LIMITS 2.0
/* A leap within one sampling interval, % of travel, and in sd of the noise. */
#define LEAP_PCT   6.0
#define LEAP_NOISE 8.0
/* A drift is one from so many of its standard errors on. */
#define TREND_SURE_SD 3.0

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
  return fmin(fabs(plag_facts_desired_pct(trace, command) - held->position_pct),
              fabs(held->pull_pct));
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

/* Plates that hold stood there before they were pulled. A reading that leapt away from what the
 * command asks for and then stands was moved by something else than the plates. */
static bool began_with_leap(const platelag_fit *fit, const platelag_held *held) {
  const double leap_pct = fmax(LEAP_PCT, LEAP_NOISE * plag_facts_noise_pct(fit));
  return copysign(1, held->pull_pct) * held->entry_jump_pct < -leap_pct;
}

void plag_facts_take_held(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace,
                          const platelag_valve_spec *spec) {
  double place[HELD_PLACES];
  size_t places = 0;
  size_t leapt = 0;
  for (size_t i = 0; i < fit->held_count; i++) {
    if (pull_pct(fit, trace, &fit->held[i]) <
        pull_needed_pct(facts, trace, fit->held[i].position_pct, spec))
      continue;
    if (stands_at_short_end(facts, fit, fit->held[i].position_pct))
      continue;
    facts->held_beyond++;
    leapt += began_with_leap(fit, &fit->held[i]);
    if (places < HELD_PLACES)
      place[places++] = fit->held[i].position_pct;
  }
  const double moves = (double)(fit->coverage.openings + fit->coverage.closings);
  if (moves > 0)
    plag_facts_set(facts, PLAG_FEATURE_HELD, facts->held_beyond, NAN, moves);
  if (places >= 3)
    plag_facts_set(facts, PLAG_FEATURE_HELD_PLACE, plag_median_deviation(place, places), NAN, 0);
  if (facts->held_beyond > 0)
    plag_facts_set_chance(facts, PLAG_FEATURE_HELD_LEAPT, leapt, (size_t)facts->held_beyond);
  if (facts->held_beyond > 0 && isfinite(fit->loop.effort_while_held_pct))
    plag_facts_set(facts, PLAG_FEATURE_EFFORT, fit->loop.effort_while_held_pct, NAN, 0);
  const platelag_warm_up *warm = &fit->warm_up;
  if (warm->held_share_cold.known == PLATELAG_KNOWN_VALUE &&
      warm->held_share_warm.known == PLATELAG_KNOWN_VALUE && facts->held_beyond > 0)
    plag_facts_set(facts, PLAG_FEATURE_WARM,
                   warm->held_share_cold.value - warm->held_share_warm.value, NAN, 0);
}
