/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Facts of the signal: rails, lost and frozen readings, noise, jumps, the reference. */
#include "judge/facts_parts.h"

#include <math.h>

#include "core/statistics.h"

/* Noise assumed where none could be measured, % of travel. */
#define NOISE_ASSUMED_PCT 0.5
/* A reference below this share of its middle is down; readings looked at, and needed. */
#define DIP_SHARE    0.96
#define DIPS_SAMPLED 2048
#define DIPS_LEAST   20

void plag_facts_take_rails(plag_facts *facts, const platelag_signal *signal,
                           const platelag_valve_spec *spec) {
  if (!signal->rails_visible)
    return;
  facts->railed = signal->high_share > 0.5 || signal->low_share > 0.5;
  plag_facts_set(facts, PLAG_FEATURE_HIGH_SHARE, signal->high_share, NAN, 0);
  plag_facts_set(facts, PLAG_FEATURE_LOW_SHARE, signal->low_share, NAN, 0);
  if (signal->high_share < 0.05 || !isfinite(signal->high_level_pct))
    return;
  plag_facts_set(facts, PLAG_FEATURE_HIGH_LEVEL, signal->high_level_pct, spec->high_limit_pct, 0);
  if (isfinite(signal->high_noise_pct))
    plag_facts_set(facts, PLAG_FEATURE_HIGH_DITHER, signal->high_noise_pct, NAN, 0);
}

double plag_facts_frozen_share(const platelag_fit *fit) {
  size_t frozen = 0;
  size_t all = 0;
  for (size_t i = 0; i < fit->span_count; i++) {
    all += fit->span[i].sample_count;
    if (fit->span[i].mode == PLATELAG_MODE_FROZEN)
      frozen += fit->span[i].sample_count;
  }
  return all > 0 ? (double)frozen / (double)all : 0;
}

/* How far clean plates get between two samples of the position, half a full move at most. */
static double way_a_sample_pct(const platelag_fit *fit, const platelag_trace *trace) {
  const platelag_estimate *slower = plag_facts_slower(&fit->lag);
  const double t63_s = slower == NULL ? NAN : plag_facts_central(slower);
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

void plag_facts_take_reference(plag_facts *facts, const platelag_trace *trace) {
  const platelag_channel *reference = trace->auxiliary[PLATELAG_ROLE_SENSOR_REFERENCE];
  const double dips = reference == NULL ? NAN : dips_of(reference);
  if (isfinite(dips))
    plag_facts_set(facts, PLAG_FEATURE_REFERENCE_DIPS, dips, NAN, 0);
}

double plag_facts_noise_pct(const platelag_fit *fit) {
  return isfinite(fit->signal.noise_pct) ? fit->signal.noise_pct : NOISE_ASSUMED_PCT;
}

void plag_facts_take_signal(plag_facts *facts, const platelag_fit *fit,
                            const platelag_trace *trace) {
  const platelag_signal *signal = &fit->signal;
  /* Where every reading repeats and none counts as frozen, a converter coarser than the noise and a
   * frozen signal look alike: no share is known, rather than a share of 0. */
  const double frozen = plag_facts_frozen_share(fit);
  if (facts->commanded && (frozen > 0 || !(signal->repeat_share > 0.99)))
    plag_facts_set(facts, PLAG_FEATURE_FROZEN_SHARE, frozen, NAN, 0);
  if (facts->railed)
    return;
  plag_facts_set(facts, PLAG_FEATURE_DROPOUTS, (double)signal->dropout_count, NAN,
                 fit->coverage.recorded_s / 60.0);
  if (signal->noise_pct > 0 && facts->moved)
    plag_facts_set(facts, PLAG_FEATURE_NOISE, fmax(signal->noise_pct, 0.02), NAN, 0);
  /* A controller's command moves all the time, and away from where it was asked a moment ago. */
  if (!facts->controlled) {
    plag_facts_set_chance(facts, PLAG_FEATURE_JUMP_DIRECTION, signal->jumps_towards, signal->jumps);
    plag_facts_set_chance(facts, PLAG_FEATURE_JUMP_UNASKED, signal->jumps_command_still,
                          signal->jumps);
  }
  if (signal->void_count < 3)
    return;
  if (isfinite(signal->void_travel_spread_pct))
    plag_facts_set(facts, PLAG_FEATURE_VOID_PLACE, signal->void_travel_spread_pct, NAN,
                   way_a_sample_pct(fit, trace));
  if (isfinite(signal->moving_share))
    plag_facts_set(facts, PLAG_FEATURE_VOID_MOVING, signal->moving_share, NAN, 0);
  const double sag =
      fmax(fit->auxiliary.supply_sag_share, fit->auxiliary.reference_sag_share); /* skips NaN */
  if (isfinite(sag))
    plag_facts_set(facts, PLAG_FEATURE_SAG, sag, NAN, 0);
}
