/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Facts of whether anything moved, and where it stands when nothing does. */
#include "judge/facts_parts.h"

#include <math.h>

/* Position movement below this is play, not travel, % of travel. */
#define MOVED_LEAST_PCT 5.0
/* Noise that may hide movement, % of travel, and the evidence for movement that is asked then. */
#define NOISE_LARGE_PCT  3.0
#define MOVED_LEAST_NATS 20.0
/* A command change of this share of its span asks for a move that cannot be overlooked. */
#define LARGE_STEP 0.2
/* So many of them tell whether anything moves at all, and below this share nothing does. */
#define STEPS_LEAST    8
#define ANSWERED_LEAST 0.06

static double travel_span(const platelag_fit *fit) {
  const double valid = fit->travel.highest_pct - fit->travel.lowest_pct;
  return isfinite(valid) ? valid : fit->coverage.position_span_pct;
}

/* Travel that a desired position asks for. */
double plag_facts_desired_pct(const platelag_trace *trace, double command) {
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
  const double span = fabs(plag_facts_desired_pct(trace, trace->command_highest) -
                           plag_facts_desired_pct(trace, trace->command_lowest));
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

double plag_facts_bic(const platelag_score *score) {
  if (score->convergence == PLATELAG_NO_DATA || score->convergence == PLATELAG_DIVERGED ||
      !isfinite(score->log_likelihood) || !(score->samples > 1))
    return NAN;
  return score->log_likelihood - 0.5 * (double)score->parameters * log(score->samples);
}

/* Noise can bury the movement in every reading, but not in all of them together: the travel that
 * the fitted map spans, where plates that follow it explain the record far better than plates that
 * stand; else 0. */
static double span_in_noise_pct(const platelag_fit *fit) {
  const double follows =
      fmax(plag_facts_bic(&fit->free), plag_facts_bic(&fit->prompt)); /* skips NaN */
  if (!(follows - plag_facts_bic(&fit->constant) > MOVED_LEAST_NATS))
    return 0;
  return fabs(fit->map_high_pct - fit->map_low_pct);
}

void plag_facts_take_moved(plag_facts *facts, const platelag_fit *fit,
                           const platelag_trace *trace) {
  facts->commanded = trace->command_kind != PLATELAG_COMMAND_ABSENT &&
                     fit->coverage.command_span_pct >= PLAG_STILL_SPAN_PCT;
  facts->two_level = trace->command_kind == PLATELAG_COMMAND_TWO_LEVEL;
  facts->controlled = trace->command_kind == PLATELAG_COMMAND_DESIRED;
  facts->loop_closed = fit->loop.closed && !facts->controlled;
  facts->absolute = trace->scale == PLATELAG_SCALE_SPEC;
  double share = fmax(travel_span(fit) - 4.0 * plag_facts_noise_pct(fit), 0) / 100.0;
  if (plag_facts_noise_pct(fit) > NOISE_LARGE_PCT)
    share = fmax(share, span_in_noise_pct(fit) / 100.0);
  facts->moved = share * 100.0 > MOVED_LEAST_PCT;
  if (facts->commanded)
    share = fmin(share * 100.0 / asked_span_pct(fit, trace), 1);
  /* Under heavy noise no single step shows an answer. */
  const double answered =
      plag_facts_noise_pct(fit) > NOISE_LARGE_PCT ? NAN : answered_share(fit, trace);
  if (facts->commanded && answered < ANSWERED_LEAST) {
    facts->moved = false;
    share = fmin(share, answered);
  }
  if (facts->commanded && plag_facts_frozen_share(fit) > 0.5) {
    facts->moved = false;
    share = 0;
  }
  if (facts->commanded && !facts->railed)
    plag_facts_set(facts, PLAG_FEATURE_MOVED, share, NAN, 0);
}

void plag_facts_take_still(plag_facts *facts, const platelag_fit *fit,
                           const platelag_trace *trace) {
  if (facts->moved || facts->railed || !facts->commanded)
    return;
  const double middle = 0.5 * (fit->travel.lowest_pct + fit->travel.highest_pct);
  if (trace->scale == PLATELAG_SCALE_SPEC && isfinite(middle))
    plag_facts_set(facts, PLAG_FEATURE_REST_GAP, fmin(fabs(middle), fabs(100 - middle)), NAN, 0);
  const bool exact = fit->signal.repeat_share > 0.99 || plag_facts_frozen_share(fit) > 0.5;
  if (isfinite(fit->signal.repeat_share))
    plag_facts_set(facts, PLAG_FEATURE_STILL_DITHER, exact ? 0 : plag_facts_noise_pct(fit), NAN, 0);
}
