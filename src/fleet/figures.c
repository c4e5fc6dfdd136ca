/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/figures.h"

#include <math.h>

static const platelag_estimate NOTHING = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};

static platelag_estimate stick_band(const platelag_review_valve *valve) {
  return valve->fit->friction.stick_band_pct;
}

static platelag_estimate moving(const platelag_review_valve *valve) {
  return valve->fit->friction.moving_pct;
}

static platelag_estimate opening_t63(const platelag_review_valve *valve) {
  return valve->fit->lag.opening_t63_s;
}

static platelag_estimate closing_t63(const platelag_review_valve *valve) {
  return valve->fit->lag.closing_t63_s;
}

static platelag_estimate measured(double value, double half) {
  return isfinite(value)
             ? (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value - half, value + half}
             : NOTHING;
}

/* Half an interval of a settled level: the noise of a sample is a fair bound of its mean. */
static double level_half(const platelag_review_valve *valve) {
  const double noise_pct = valve->fit->signal.noise_pct;
  return 1.645 * (isfinite(noise_pct) ? noise_pct : 0.5);
}

/* Volts between the settled levels at the ends of the command, which friction and carbon at a stop
 * shorten; whole moves only, for a drive that was never asked to open fully shows less. */
static platelag_estimate span_v(const platelag_review_valve *valve) {
  const platelag_travel *travel = &valve->fit->travel;
  const double pct = travel->rest_open_pct - travel->rest_closed_pct;
  const double volt_a_pct = (travel->open_v - travel->closed_v) / 100;
  if (!travel->closed_asked || !travel->open_asked)
    return NOTHING;
  return measured(fabs(pct * volt_a_pct), fabs(1.4142 * level_half(valve) * volt_a_pct));
}

static platelag_estimate at_stop_v(const platelag_review_valve *valve, bool asked,
                                   double rest_pct) {
  const platelag_travel *travel = &valve->fit->travel;
  const double volt_a_pct = (travel->open_v - travel->closed_v) / 100;
  return asked ? measured(travel->closed_v + rest_pct * volt_a_pct,
                          fabs(level_half(valve) * volt_a_pct))
               : NOTHING;
}

static platelag_estimate closed_v(const platelag_review_valve *valve) {
  return at_stop_v(valve, valve->fit->travel.closed_asked, valve->fit->travel.rest_closed_pct);
}

static platelag_estimate open_v(const platelag_review_valve *valve) {
  return at_stop_v(valve, valve->fit->travel.open_asked, valve->fit->travel.rest_open_pct);
}

/* Void readings a minute, with the interval of a Poisson count: Garwood, Biometrika 28 (1936) 437,
 * by its normal approximation of the root. */
static platelag_estimate void_a_minute(const platelag_review_valve *valve) {
  const double minutes = valve->fit->coverage.recorded_s / 60;
  const double count = (double)valve->fit->signal.void_count;
  if (!(minutes > 0))
    return NOTHING;
  const double low = fmax(sqrt(count) - 0.5 * 1.645, 0);
  const double high = sqrt(count + 1) + 0.5 * 1.645;
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, count / minutes, low * low / minutes,
                             high * high / minutes};
}

static platelag_estimate held_share(const platelag_review_valve *valve) {
  const double share = valve->fit->held_share;
  return isfinite(share) && valve->fit->coverage.openings + valve->fit->coverage.closings > 0
             ? measured(100 * share, 0)
             : NOTHING;
}

static double band_limit(const platelag_valve_spec *spec) {
  return spec->stick_band_limit_pct;
}

static double t63_limit(const platelag_valve_spec *spec) {
  return spec->t63_limit_s;
}

/* Shares are set beforehand, by what grows first in vehicles whose stick band grows: plates let go
 * later and come to rest ever further behind the command, and both together are surest
 * (tests/bench/bench_trends). Readings at a stop hardly ever move alone. */
static const plag_figure figures[PLAG_FIGURE_COUNT] = {
    {{"stick_band_pct", "stick band", "% of travel", 1},
     .measure = stick_band,
     .limit = band_limit,
     .worse = PLAG_TREND_UP,
     .learns_limit = true,
     .share = 0.04,
     .by_sticking = true},
    {{"opening_t63_s", "opening t63", "s", 2},
     .measure = opening_t63,
     .limit = t63_limit,
     .worse = PLAG_TREND_UP,
     .learns_limit = true,
     .share = 0.06},
    {{"closing_t63_s", "closing t63", "s", 2},
     .measure = closing_t63,
     .limit = t63_limit,
     .worse = PLAG_TREND_UP,
     .learns_limit = true,
     .share = 0.06},
    {{"span_v", "span between the stops", "V", 2},
     .measure = span_v,
     .worse = PLAG_TREND_DOWN,
     .share = 0.03},
    {{"closed_v", "reading closed", "V", 2},
     .measure = closed_v,
     .worse = PLAG_TREND_BOTH,
     .share = 0.02},
    {{"open_v", "reading open", "V", 2},
     .measure = open_v,
     .worse = PLAG_TREND_BOTH,
     .share = 0.02},
    {{"void_a_minute", "void readings", "a minute", 2},
     .measure = void_a_minute,
     .worse = PLAG_TREND_UP,
     .share = 0.06},
    {{"held_pct", "held while pulled", "% of pulled time", 1},
     .measure = held_share,
     .worse = PLAG_TREND_UP,
     .share = 0.05},
    {{"moving_friction_pct", "friction of moving plates", "% of travel", 1},
     .measure = moving,
     .worse = PLAG_TREND_UP,
     .share = 0.08,
     .by_sticking = true},
};

const plag_figure *plag_figure_at(size_t index) {
  return &figures[index];
}

const platelag_fleet_figure_kind *platelag_fleet_figure_at(size_t index) {
  return index < PLAG_FIGURE_COUNT ? &figures[index].what : NULL;
}
