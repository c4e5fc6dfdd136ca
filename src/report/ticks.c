/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/ticks.h"

#include <math.h>

#include "core/round_step.h"

/* Steps that a clock face knows; above the last and below the first, decimal ones. */
static const double clock_steps[] = {1,   2,   5,    10,   15,   30,    60,    120,   300,
                                     600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400};
enum { CLOCK_STEPS = sizeof clock_steps / sizeof clock_steps[0] };

static double time_step(double least) {
  if (least < clock_steps[0] || least > clock_steps[CLOCK_STEPS - 1])
    return plag_round_step(least);
  size_t i = 0;
  while (clock_steps[i] < least)
    i++;
  return clock_steps[i];
}

plag_ticks plag_ticks_of(const plag_axis *axis, size_t most) {
  const double span = axis->to - axis->from;
  if (!(span > 0) || !isfinite(span))
    return (plag_ticks){.first = axis->from};
  const double least = span / (double)most;
  const double step = axis->is_time ? time_step(least) : plag_round_step(least);
  const double first = ceil(axis->from / step - 1e-9);
  const double last = floor(axis->to / step + 1e-9);
  return (plag_ticks){.first = first * step,
                      .step = step,
                      .count = last >= first ? (size_t)(last - first) + 1 : 0,
                      .decimals = step >= 1 ? 0 : (int)ceil(-log10(step) - 1e-9),
                      .is_time = axis->is_time};
}

void plag_tick_add(plag_text *out, const plag_ticks *ticks, size_t index) {
  const double at = plag_tick_at(ticks, index);
  if (!ticks->is_time) {
    plag_text_add_number(out, at, ticks->decimals);
    return;
  }
  const double size = fabs(at) + 1e-9;
  const unsigned long whole = (unsigned long)size;
  plag_text_add(out, at < -1e-9 ? "-" : "");
  if (whole >= 3600)
    plag_text_add_format(out, "%lu:%02lu:%02lu", whole / 3600, whole / 60 % 60, whole % 60);
  else
    plag_text_add_format(out, "%lu:%02lu", whole / 60, whole % 60);
  if (ticks->decimals > 0) { /* ".25" of "0.25" */
    plag_text fraction = {0};
    plag_text_add_number(&fraction, size - (double)whole, ticks->decimals);
    plag_text_add(out, fraction.failed ? "" : fraction.bytes + 1);
    out->failed = out->failed || fraction.failed;
    plag_text_clear(&fraction);
  }
}
