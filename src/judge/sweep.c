/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/sweep.h"

#include <math.h>

/* What a sweep must cover to clear a sensor: a good part of what a runner valve uses of a 5 V
 * sensor (a judgement). */
#define WIDE_V   1.5
#define WIDE_PCT 60.0

/* A hand turns a shaft past its stops, where the track goes on reading beyond the limits of a
 * running valve; only what lies this near to a rail is a lost contact, % of reference. */
#define RAIL_LOW_PCT  1.5
#define RAIL_HIGH_PCT 98.5

static size_t spots_seen(const platelag_fit *fit) {
  const bool low = fit->signal.low_level_pct <= RAIL_LOW_PCT;
  const bool high = fit->signal.high_level_pct >= RAIL_HIGH_PCT;
  size_t spots = 0;
  for (size_t i = 0; i < fit->span_count; i++) {
    const platelag_mode mode = fit->span[i].mode;
    spots += mode == PLATELAG_MODE_ERRATIC || (low && mode == PLATELAG_MODE_RAIL_LOW) ||
             (high && mode == PLATELAG_MODE_RAIL_HIGH);
  }
  return spots;
}

/* A span of travel in volts, or in % of travel where volts are hidden. */
static double span_of(const platelag_fit *fit, double span_pct, bool *in_volts) {
  const double volts = fabs(fit->travel.open_v - fit->travel.closed_v);
  *in_volts = isfinite(volts) && volts > 0;
  return *in_volts ? span_pct * volts / 100.0 : span_pct;
}

plag_sweep plag_sweep_measure(const platelag_fit *fit) {
  plag_sweep sweep = {.spots = (double)spots_seen(fit)};
  sweep.span = span_of(fit, fit->coverage.position_span_pct, &sweep.in_volts);
  sweep.railed =
      fit->signal.rails_visible && (fit->signal.high_share > 0.9 || fit->signal.low_share > 0.9);
  sweep.wide = !sweep.railed && sweep.span >= (sweep.in_volts ? WIDE_V : WIDE_PCT);
  return sweep;
}

bool plag_sweep_looks_like_one(const platelag_fit *fit) {
  bool in_volts = false;
  const double span = span_of(fit, fit->travel.highest_pct - fit->travel.lowest_pct, &in_volts);
  const bool railed = fit->signal.high_share > 0.5 || fit->signal.low_share > 0.5;
  return !railed && spots_seen(fit) == 0 && span >= (in_volts ? WIDE_V : WIDE_PCT); /* NaN: no */
}

void plag_sweep_take_facts(const platelag_fit *fit, plag_facts *facts) {
  const plag_sweep sweep = plag_sweep_measure(fit);
  *facts = (plag_facts){.moved = sweep.wide, .railed = sweep.railed, .by_hand = true};
  facts->fact[PLAG_FEATURE_SWEEP] =
      (plag_fact){sweep.wide || sweep.railed, sweep.railed ? 1 : sweep.spots, NAN, 0};
  if (sweep.wide) {
    facts->fact[PLAG_FEATURE_MOVED] = (plag_fact){true, 0.9, NAN, 0};
    facts->fact[PLAG_FEATURE_DROPOUTS] =
        (plag_fact){true, sweep.spots, NAN, fit->coverage.recorded_s / 60.0};
  }
  /* A hand may turn the sensor past its stops, so being near a rail for a while is no fault. */
  if (sweep.railed) {
    facts->fact[PLAG_FEATURE_HIGH_SHARE] = (plag_fact){true, fit->signal.high_share, NAN, 0};
    facts->fact[PLAG_FEATURE_LOW_SHARE] = (plag_fact){true, fit->signal.low_share, NAN, 0};
  }
}
