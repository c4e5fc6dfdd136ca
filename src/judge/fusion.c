/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/fusion.h"

#include <math.h>
#include <string.h>

#include "judge/calibration.h"
#include "judge/checks.h"
#include "judge/sweep.h"

/* Captures of one vehicle share its faults and its recorder, so a second one counts half (a
 * judgement). */
#define FURTHER_CAPTURE_WEIGHT 0.5
/* No hypothesis is ever quite excluded. */
#define PROBABILITY_LEAST 1e-9
/* Meter limits, common practice, no source: ground below 0.1 V; capture and meter agree within
 * 0.15 V. */
#define GROUND_LIMIT_V 0.1
#define SIGNAL_LIMIT_V 0.15

static double probability_of(const platelag_finding *finding, const char *name) {
  for (size_t i = 0; i < finding->hypothesis_count; i++)
    if (strcmp(finding->hypothesis[i].name, name) == 0)
      return fmax(finding->hypothesis[i].probability, PROBABILITY_LEAST);
  return PROBABILITY_LEAST;
}

/* What a capture taught: the divergence of its probabilities from the priors, nats. */
static double taught(const platelag_finding *finding) {
  double sum = 0;
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    const plag_hypothesis_row *row = plag_hypothesis_at(i);
    const double p = probability_of(finding, row->hypothesis->name);
    sum += p * log(p / row->prior);
  }
  return sum;
}

static bool is_decided(const platelag_case_input *input) {
  return input->finding->kind != PLATELAG_FINDING_UNDECIDED;
}

static bool blames(const platelag_case_input *input, bool only_after) {
  return input->condition == PLATELAG_CONDITION_ROAD ||
         input->condition == PLATELAG_CONDITION_REST ||
         (only_after && input->condition == PLATELAG_CONDITION_AFTER);
}

static bool says_more(const platelag_case_input *one, const platelag_case_input *other) {
  if (is_decided(one) != is_decided(other))
    return is_decided(one);
  return taught(one->finding) > taught(other->finding);
}

static void pick(const platelag_case_input *input, size_t count, plag_fusion *fusion,
                 bool *only_after) {
  *only_after = true;
  for (size_t i = 0; i < count; i++)
    if (input[i].condition == PLATELAG_CONDITION_ROAD ||
        input[i].condition == PLATELAG_CONDITION_REST)
      *only_after = false;
  for (size_t i = 0; i < count; i++) {
    const platelag_case_input *at = &input[i];
    if (blames(at, *only_after) && (fusion->main == NULL || says_more(at, fusion->main)))
      fusion->main = at;
    if (at->condition == PLATELAG_CONDITION_HAND_SWEEP &&
        (fusion->sweep == NULL || says_more(at, fusion->sweep)))
      fusion->sweep = at;
    if (at->condition == PLATELAG_CONDITION_AFTER)
      fusion->after = at;
  }
}

static void add_captures(const platelag_case_input *input, size_t count, bool only_after,
                         plag_fusion *fusion) {
  for (size_t c = 0; c < count; c++) {
    if (!blames(&input[c], only_after))
      continue;
    fusion->blocked[input[c].finding->kind] = false;
    const double weight = &input[c] == fusion->main ? 1.0 : FURTHER_CAPTURE_WEIGHT;
    for (size_t i = 0; i < plag_hypothesis_count(); i++) {
      const plag_hypothesis_row *row = plag_hypothesis_at(i);
      fusion->posterior.log_likelihood[i] +=
          weight * log(probability_of(input[c].finding, row->hypothesis->name) / row->prior);
    }
  }
}

/* A sweep that stands alone and shows a fault is the case. */
static void add_lone_sweep(plag_fusion *fusion) {
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    const plag_hypothesis_row *row = plag_hypothesis_at(i);
    fusion->posterior.log_likelihood[i] +=
        log(probability_of(fusion->sweep->finding, row->hypothesis->name) / row->prior);
  }
}

static void take_sweep(plag_fusion *fusion) {
  if (fusion->sweep == NULL)
    return;
  plag_facts facts;
  plag_sweep_take_facts(fusion->sweep->fit, &facts);
  fusion->facts.fact[PLAG_FEATURE_SWEEP] = facts.fact[PLAG_FEATURE_SWEEP];
  fusion->swept = facts.fact[PLAG_FEATURE_SWEEP].present;
  if (fusion->sweep->finding->kind == PLATELAG_FINDING_FREE)
    return;
  fusion->blocked[fusion->sweep->finding->kind] = false;
  if (fusion->main == NULL)
    add_lone_sweep(fusion);
}

/* The level that the capture read all along, volts; NaN where it moved, for then nobody knows when
 * the meter was read. */
static double constant_level_v(const platelag_fit *fit, double reference_v) {
  if (!fit->signal.rails_visible)
    return NAN;
  if (fit->signal.high_share > 0.5)
    return fit->signal.high_level_pct * reference_v / 100;
  if (fit->signal.low_share > 0.5)
    return fit->signal.low_level_pct * reference_v / 100;
  return NAN;
}

static void take_meter(const platelag_meter *meter, const platelag_valve_spec *spec,
                       plag_fusion *fusion) {
  plag_fact *fact = fusion->facts.fact;
  fusion->capture_signal_v = NAN;
  if (meter == NULL)
    return;
  if (isfinite(meter->reference_v))
    fact[PLAG_FEATURE_METER_REFERENCE] =
        (plag_fact){true, meter->reference_v - spec->reference_v,
                    PLAG_REFERENCE_LIMIT_SHARE * spec->reference_v, 0};
  if (isfinite(meter->ground_v))
    fact[PLAG_FEATURE_METER_GROUND] = (plag_fact){true, meter->ground_v, GROUND_LIMIT_V, 0};
  if (fusion->main == NULL || !isfinite(meter->signal_v))
    return;
  fusion->capture_signal_v = constant_level_v(fusion->main->fit, spec->reference_v);
  if (!isfinite(fusion->capture_signal_v))
    return;
  fact[PLAG_FEATURE_METER_SIGNAL] =
      (plag_fact){true, meter->signal_v - fusion->capture_signal_v, SIGNAL_LIMIT_V, 0};
  fusion->meter_disagrees = fabs(meter->signal_v - fusion->capture_signal_v) > SIGNAL_LIMIT_V;
}

static bool metered(const plag_facts *facts) {
  return facts->fact[PLAG_FEATURE_METER_SIGNAL].present ||
         (facts->fact[PLAG_FEATURE_METER_REFERENCE].present &&
          facts->fact[PLAG_FEATURE_METER_GROUND].present);
}

void plag_fusion_weigh(const platelag_case_input *input, size_t count,
                       const platelag_valve_spec *spec, const platelag_meter *meter,
                       plag_fusion *fusion) {
  *fusion = (plag_fusion){0};
  for (int k = 0; k < PLATELAG_FINDING_COUNT; k++)
    fusion->blocked[k] = true;
  bool only_after = false;
  pick(input, count, fusion, &only_after);
  add_captures(input, count, only_after, fusion);
  take_sweep(fusion);
  take_meter(meter, spec, fusion);
  plag_posterior *posterior = &fusion->posterior;
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    posterior->log_likelihood[i] += plag_hypothesis_log_likelihood(
        plag_hypothesis_at(i)->hypothesis, &fusion->facts, posterior->by_feature[i]);
  const bool settled = fusion->swept || metered(&fusion->facts);
  plag_calibration_apply(posterior->log_likelihood, true, settled, posterior->probability);
  const bool rails_hidden = fusion->main != NULL && !fusion->main->fit->signal.rails_visible;
  plag_posterior_sum(posterior, rails_hidden, settled, spec->decide_at);
}
