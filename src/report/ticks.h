/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where an axis has ticks, and how they read. */
#ifndef PLAG_REPORT_TICKS_H
#define PLAG_REPORT_TICKS_H

#include "core/text.h"
#include "report/plots.h"

typedef struct plag_ticks {
  double first, step;
  size_t count;
  int decimals;
  bool is_time;
} plag_ticks;

/* Round ticks, at most `most` (2 or more). */
plag_ticks plag_ticks_of(const plag_axis *axis, size_t most);

static inline double plag_tick_at(const plag_ticks *ticks, size_t index) {
  return ticks->first + ticks->step * (double)index;
}

/* "0.25"; a time as "1:30" or "1:02:30", with tenths where the step has some. */
void plag_tick_add(plag_text *out, const plag_ticks *ticks, size_t index);

#endif
