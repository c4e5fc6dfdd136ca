/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/checks.h"

#include <math.h>

#include "judge/sweep.h"
#include "judge/words.h"

typedef struct question {
  const platelag_fit *fit;
  const platelag_trace *trace;
  const platelag_valve_spec *spec;
  const plag_facts *facts;
  plag_arena *arena;
} question;

static platelag_check_result not_evaluable(const char *why) {
  return (platelag_check_result){PLATELAG_CHECK_NOT_EVALUABLE, why};
}

static platelag_check_result answer(bool passed, const char *figure) {
  return (platelag_check_result){passed ? PLATELAG_CHECK_PASSED : PLATELAG_CHECK_FAILED, figure};
}

static const char *const rails_hidden = "recorded in % open, which hides the signal's rails";

/* Past a limit for the hold time; a hold time of nothing still asks for a reading there. */
static bool held_past(double longest_s, const platelag_valve_spec *spec) {
  return longest_s > 0 && longest_s >= spec->hold_time_s;
}

static platelag_check_result continuity(const question *at) {
  const platelag_signal *signal = &at->fit->signal;
  if (!signal->rails_visible)
    return not_evaluable(rails_hidden);
  const bool pinned =
      held_past(signal->longest_high_s, at->spec) && signal->high_level_pct >= PLAG_PINNED_PCT;
  const bool grounded = held_past(signal->longest_low_s, at->spec);
  if (pinned)
    return answer(false,
                  plag_words(at->arena,
                             "pinned at #1 % of reference for up to #1 s (a wire: #0 % or more)",
                             signal->high_level_pct, signal->longest_high_s, PLAG_PINNED_PCT));
  if (grounded)
    return answer(false, plag_words(at->arena, "pinned at #1 % of reference for up to #1 s",
                                    signal->low_level_pct, signal->longest_low_s));
  return answer(signal->dropout_count < PLAG_DROPOUTS_LEAST,
                plag_words(at->arena, "#c in #1 min", (double)signal->dropout_count, "dropout",
                           at->fit->coverage.recorded_s / 60.0));
}

static platelag_check_result range(const question *at) {
  const platelag_signal *signal = &at->fit->signal;
  const platelag_valve_spec *spec = at->spec;
  if (!signal->rails_visible)
    return not_evaluable(rails_hidden);
  if (held_past(signal->longest_high_s, spec))
    return answer(false,
                  plag_words(at->arena, "#0 % of reference or more for up to #1 s (limit #1 s)",
                             spec->high_limit_pct, signal->longest_high_s, spec->hold_time_s));
  if (held_past(signal->longest_low_s, spec))
    return answer(false,
                  plag_words(at->arena, "#0 % of reference or less for up to #1 s (limit #1 s)",
                             spec->low_limit_pct, signal->longest_low_s, spec->hold_time_s));
  return answer(true, plag_words(at->arena,
                                 "never past #0 % or #0 % of reference for the hold time of #1 s",
                                 spec->low_limit_pct, spec->high_limit_pct, spec->hold_time_s));
}

/* A reading that moved once, when it froze or the plates jammed for good, does not answer either.
 */
static const char *still_words(const question *at) {
  const double command = at->fit->coverage.command_span_pct;
  const double position = at->fit->coverage.position_span_pct;
  return position > command
             ? plag_words(at->arena, "the command moved by #0 %, the position without it", command)
             : plag_words(at->arena, "the command moved by #0 %, the position by #1 % of travel",
                          command, position);
}

static platelag_check_result rationality(const question *at) {
  const plag_facts *facts = at->facts;
  if (!facts->commanded)
    return not_evaluable("the command did not move");
  if (facts->railed)
    return answer(false, "the signal is past a limit whatever the command");
  if (!facts->moved)
    return answer(false, still_words(at));
  const plag_fact *stops = &facts->fact[PLAG_FEATURE_STOPS];
  if (!stops->present)
    return not_evaluable(at->trace->scale == PLATELAG_SCALE_SPEC
                             ? "the command did not stand at both ends long enough"
                             : "the readings expected at the stops are not given");
  const bool offset =
      fmin(fabs(facts->closed_error_pct), fabs(facts->open_error_pct)) > facts->tolerance_pct;
  const bool is_short = facts->closed_error_pct >= facts->short_limit_pct ||
                        -facts->open_error_pct >= facts->short_limit_pct;
  return answer(!offset && !is_short,
                plag_words(at->arena,
                           "ends off by #1 % (closed) and #1 % (open) of travel, limit #0 %",
                           facts->closed_error_pct, facts->open_error_pct, stops->limit));
}

/* A band that is only known to lie below some width has not failed. */
static bool sticks_beyond_limit(const question *at) {
  const platelag_estimate *band = &at->fit->friction.stick_band_pct;
  const bool known =
      band->known == PLATELAG_KNOWN_VALUE ||
      (band->known != PLATELAG_KNOWN_NOTHING && band->low > at->spec->stick_band_limit_pct);
  return known && at->facts->stick_above >= 0.5;
}

/* "t63 0.25 s (limit 0.70), ", or "" where it is not known. */
static const char *lag_words(const question *at) {
  if (!at->facts->fact[PLAG_FEATURE_T63].present)
    return "";
  return plag_words(at->arena, "t63 #s (limit #2), ",
                    plag_words_estimate(at->arena, plag_facts_slower(&at->fit->lag), 2, "s"),
                    at->spec->t63_limit_s);
}

/* "At most" more than the limit says nothing: an on/off command bounds it so. */
static bool band_is_told(const question *at) {
  const platelag_estimate *band = &at->fit->friction.stick_band_pct;
  return at->facts->fact[PLAG_FEATURE_STICK_BAND].present &&
         !(band->known == PLATELAG_KNOWN_UPPER_LIMIT &&
           band->high > at->spec->stick_band_limit_pct);
}

static const char *band_words(const question *at) {
  if (!band_is_told(at))
    return "";
  return plag_words(at->arena, "stick band #s (limit #0), ",
                    plag_words_estimate(at->arena, &at->fit->friction.stick_band_pct, 1, "%"),
                    at->spec->stick_band_limit_pct);
}

static platelag_check_result functional_response(const question *at) {
  const plag_facts *facts = at->facts;
  const plag_fact *t63 = &facts->fact[PLAG_FEATURE_T63];
  if (!facts->commanded)
    return not_evaluable("the command did not move");
  if (facts->railed)
    return not_evaluable("the signal is past a limit and does not show the plates");
  if (!facts->moved)
    return answer(false, "no movement on command");
  if (!t63->present && !band_is_told(at) && facts->held_beyond < 1)
    return not_evaluable("no command change could be timed");
  const bool passed = (!t63->present || facts->t63_above < 0.5) && !sticks_beyond_limit(at) &&
                      facts->held_beyond < 2;
  const char *held = facts->held_beyond > 0
                         ? plag_words(at->arena, "held #c", facts->held_beyond, "time")
                         : "never held";
  return answer(passed, plag_words(at->arena, "#s#s#s", lag_words(at), band_words(at), held));
}

/* By hand the shaft goes past its stops, where the track reads beyond a running valve's limits: a
 * dead or jumping spot is what breaks continuity there. */
static platelag_check_result continuity_of_sweep(const question *at) {
  const plag_sweep sweep = plag_sweep_measure(at->fit);
  if (!sweep.wide && !sweep.railed)
    return not_evaluable("the sweep did not cover the sensor's range");
  return answer(!sweep.railed && sweep.spots < 1,
                plag_words(at->arena, "#c over #2 #s", sweep.spots, "dead or jumping spot",
                           sweep.span, sweep.in_volts ? "V" : "% of travel"));
}

/* Where nobody has said that it is a sweep, it clears nothing. */
static platelag_check_result ask_of_sweep(const question *at, int check) {
  if (at->trace->condition != PLATELAG_CONDITION_HAND_SWEEP)
    return not_evaluable("it looks as if a hand turned the shaft");
  if (check == PLATELAG_CHECK_CONTINUITY)
    return continuity_of_sweep(at);
  return not_evaluable(check == PLATELAG_CHECK_RANGE ? "by hand the shaft goes past its stops"
                                                     : "there is no command in a sweep by hand");
}

bool plag_checks_ask(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, const plag_facts *facts, plag_arena *arena,
                     platelag_check_result check[PLATELAG_CHECK_COUNT]) {
  static platelag_check_result (*const ask[PLATELAG_CHECK_COUNT])(const question *) = {
      [PLATELAG_CHECK_CONTINUITY] = continuity,
      [PLATELAG_CHECK_RANGE] = range,
      [PLATELAG_CHECK_RATIONALITY] = rationality,
      [PLATELAG_CHECK_FUNCTIONAL_RESPONSE] = functional_response,
  };
  const question at = {fit, trace, spec, facts, arena};
  for (int i = 0; i < PLATELAG_CHECK_COUNT; i++) {
    check[i] = facts->by_hand ? ask_of_sweep(&at, i) : ask[i](&at);
    if (check[i].figure == NULL)
      return false;
  }
  return true;
}
