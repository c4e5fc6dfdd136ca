/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the effort tells in a closed loop. It climbs while plates hold. And where the command's
 * steps do not show friction, for a controller takes their error away, slips under a creeping duty
 * do: S = withstood + left, J = withstood - left. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/effort.h"
#include "model/intervals.h"
#include "model/loop.h"
#include "model/workspace.h"

#define MOST_HELD          1024
#define LEAST_SLIPS        6
#define LEAST_SLIP_SHARE   0.3 /* of the band: what slips less may move slowly all the time */
#define MOST_SCATTER_SHARE 0.6 /* of the band: what scatters more is no friction */
#define LEAST_SD_PCT       0.5 /* of a pull by effort: supply voltage, the line's error */

/* Of a median of `count`, with the line's own error. */
static platelag_estimate estimate(double value, double sd, size_t count) {
  const double half = 1.645 * fmax(sd, LEAST_SD_PCT) * 1.2533 / sqrt((double)count) + LEAST_SD_PCT;
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, fmax(value, 0.0), fmax(value - half, 0.0),
                             fmax(value + half, 0.0)};
}

/* No slips were seen: the plates hardly ever withstood more than the stray of standing readings. */
static platelag_estimate limit_of(const plag_effort *effort) {
  return (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 2.0 * effort->stray_pct};
}

/* What the command's steps made of it before is forgotten. */
static void report_friction(platelag_friction *friction, const plag_effort *effort) {
  const double band_pct = effort->withstood_pct + fmax(effort->left_pct, 0.0);
  const double jump_pct = effort->withstood_pct - effort->left_pct;
  if (effort->slips < LEAST_SLIPS || jump_pct < LEAST_SLIP_SHARE * band_pct ||
      effort->scatter_pct > MOST_SCATTER_SHARE * band_pct) {
    friction->stick_band_pct = friction->slip_jump_pct = limit_of(effort);
    friction->moving_pct = limit_of(effort);
    return;
  }
  friction->stick_band_pct = estimate(band_pct, effort->scatter_pct, effort->slips);
  friction->slip_jump_pct = estimate(jump_pct, effort->scatter_pct, effort->slips);
  friction->moving_pct = estimate(effort->left_pct, effort->scatter_pct, effort->slips);
}

/* Over the held intervals, the way they were pulled; held intervals are in order of time. */
static platelag_status measure_climb(plag_model *model, platelag_error *error) {
  platelag_fit *fit = model->fit;
  const size_t mark = plag_workspace_mark(model->workspace);
  double *climb = plag_workspace_take(model->workspace, MOST_HELD, sizeof climb[0]);
  if (!climb)
    return plag_error_memory(error, "the effort while plates hold");
  const size_t stride = fit->held_count / MOST_HELD + 1;
  size_t count = 0;
  size_t cursor = 0;
  for (size_t k = 0; k < fit->held_count; k += stride) {
    const platelag_held *held = &fit->held[k];
    const double from = plag_effort_duty_at(model->effort, &cursor, held->from_ns);
    const double rise = plag_effort_duty_at(model->effort, &cursor, held->to_ns) - from;
    if (isfinite(rise))
      climb[count++] = held->pull_pct > 0.0 ? rise : -rise;
  }
  fit->loop.effort_while_held_pct = plag_median(climb, count);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}

platelag_status plag_loop_measure_effort(plag_model *model, platelag_error *error) {
  if (!model->effort)
    return PLATELAG_OK;
  if (model->effort->known)
    report_friction(&model->fit->friction, model->effort);
  return measure_climb(model, error);
}
