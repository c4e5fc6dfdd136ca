/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/posterior.h"

#include <math.h>
#include <string.h>

#include "judge/calibration.h"

static platelag_finding_kind seen_as(platelag_finding_kind finding, bool rails_hidden) {
  const bool rail =
      finding == PLATELAG_FINDING_SIGNAL_HIGH || finding == PLATELAG_FINDING_SIGNAL_LOW;
  return rail && rails_hidden ? PLATELAG_FINDING_STILL : finding;
}

static platelag_finding_kind likeliest_but(const double *finding, platelag_finding_kind but) {
  platelag_finding_kind best = but == 0 ? (platelag_finding_kind)1 : (platelag_finding_kind)0;
  for (int k = 0; k < PLATELAG_FINDING_COUNT; k++)
    if ((platelag_finding_kind)k != but && finding[k] > finding[best])
      best = (platelag_finding_kind)k;
  return best;
}

/* To blame the sensor for carbon, or carbon for the sensor, replaces good parts. So neither is told
 * while the other is this probable, but by a hand sweep or a meter: else the next test is the
 * answer (design section 7; the number is a judgement, as for any costly error: Chow, IEEE Trans.
 * Inf. Theory 16 (1970) 41). */
#define RIVAL_MOST 0.12
/* Plates are looked at by taking the manifold off, a drive by a gauge in minutes: that comes first
 * where it may be the drive (a judgement too). */
#define RIVAL_DRIVE_MOST 0.20

static bool rival_is_open(const double *family, platelag_family told) {
  switch (told) {
  case PLATELAG_FAMILY_MECHANICAL:
    return family[PLATELAG_FAMILY_SENSOR_CIRCUIT] > RIVAL_MOST ||
           family[PLATELAG_FAMILY_DRIVE] > RIVAL_DRIVE_MOST;
  case PLATELAG_FAMILY_SENSOR_CIRCUIT:
    return family[PLATELAG_FAMILY_MECHANICAL] > RIVAL_MOST;
  default:
    return false;
  }
}

void plag_posterior_sum(plag_posterior *posterior, bool rails_hidden, bool settled,
                        double decide_at) {
  memset(posterior->family, 0, sizeof posterior->family);
  memset(posterior->finding, 0, sizeof posterior->finding);
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    const plag_hypothesis *hypothesis = plag_hypothesis_at(i)->hypothesis;
    posterior->family[hypothesis->family] += posterior->probability[i];
    posterior->finding[seen_as(hypothesis->finding, rails_hidden)] += posterior->probability[i];
  }
  posterior->best = likeliest_but(posterior->finding, PLATELAG_FINDING_UNDECIDED);
  posterior->second = likeliest_but(posterior->finding, posterior->best);
  posterior->likeliest = PLATELAG_FAMILY_UNDECIDED;
  for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
    if (posterior->family[f] >= decide_at &&
        (posterior->likeliest == PLATELAG_FAMILY_UNDECIDED ||
         posterior->family[f] > posterior->family[posterior->likeliest]))
      posterior->likeliest = (platelag_family)f;
  if (!settled && rival_is_open(posterior->family, posterior->likeliest))
    posterior->likeliest = PLATELAG_FAMILY_UNDECIDED;
}

/* Where readings were lost or levels drift, the signal has a trouble of its own, which hides or
 * feigns what the plates do: then one capture never makes sure of either. */
#define SURE_MOST       0.95
#define LOST_A_FEW      3.0
#define DRIFTS_FROM_SDS 3.0

static bool signal_is_troubled(const plag_facts *facts) {
  const plag_fact *lost = &facts->fact[PLAG_FEATURE_DROPOUTS];
  const plag_fact *trend = &facts->fact[PLAG_FEATURE_TREND];
  return (lost->present && lost->value >= LOST_A_FEW) ||
         (trend->present && fabs(trend->value) > DRIFTS_FROM_SDS * trend->count);
}

void plag_posterior_weigh(const plag_facts *facts, double decide_at, plag_posterior *posterior) {
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    posterior->log_likelihood[i] = plag_hypothesis_log_likelihood(plag_hypothesis_at(i)->hypothesis,
                                                                  facts, posterior->by_feature[i]);
  plag_calibration_apply(posterior->log_likelihood, false, false, posterior->probability);
  if (signal_is_troubled(facts)) {
    plag_calibration_cap(PLATELAG_FAMILY_MECHANICAL, SURE_MOST, posterior->probability);
    plag_calibration_cap(PLATELAG_FAMILY_SENSOR_CIRCUIT, SURE_MOST, posterior->probability);
  }
  plag_posterior_sum(posterior, !facts->fact[PLAG_FEATURE_HIGH_SHARE].present, false, decide_at);
}
