/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/effort.h"

#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/held.h"
#include "model/workspace.h"

#define STILL_S      0.4  /* plates that stood so long stand */
#define MOST_POINTS  4096 /* of the line */
#define MOST_STRAYS  512
#define LEAST_POINTS 40   /* for a line */
#define AT_END_PCT   4.0  /* a stop holds plates whatever the duty */
#define LEAST_SPAN   20.0 /* of travel, to have a slope */
#define ROUNDS       6    /* of reweighting */
#define ROBUST_DUTY  0.5  /* residuals count as squares below and straight above, % of duty */
#define LEAST_RATIO  4.0  /* of what the line spans over how far the readings lie off it */

typedef struct point {
  double travel_pct, duty;
} point;

double plag_effort_duty_at(const plag_effort *effort, size_t *cursor, int64_t at_ns) {
  const platelag_channel *duty = effort->duty;
  while (*cursor < duty->count && duty->time_ns[*cursor] <= at_ns)
    ++*cursor;
  size_t last = *cursor;
  while (last > 0 && isnan(duty->value[last - 1]))
    last--;
  return last > 0 ? duty->value[last - 1] : NAN;
}

double plag_effort_asked_pct(const plag_effort *effort, double duty) {
  return effort->known ? (duty - effort->at_closed) / effort->per_pct : NAN;
}

/* Readings of plates that stood for a while away from the ends of their travel. */
static size_t gather(const plag_model *model, const plag_effort *effort, point *out) {
  const platelag_trace *trace = model->trace;
  const platelag_travel *travel = &model->fit->travel;
  const double band_pct = plag_held_band_pct(model);
  const size_t stride = trace->sample_count / MOST_POINTS + 1;
  size_t count = 0;
  size_t cursor = 0;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const size_t first = trace->segment[s].first_sample;
    const size_t end = first + trace->segment[s].sample_count;
    double anchor_pct = NAN;
    int64_t since_ns = 0;
    for (size_t i = first; i < end; i++) {
      if (platelag_mode_is_void((platelag_mode)model->mode[i]))
        continue;
      const double pct = platelag_trace_travel_pct(trace, trace->level[i]);
      if (!(fabs(pct - anchor_pct) <= band_pct)) {
        anchor_pct = pct;
        since_ns = trace->time_ns[i];
      }
      if (i % stride != 0 || platelag_seconds(trace->time_ns[i] - since_ns) < STILL_S ||
          pct < travel->lowest_pct + AT_END_PCT || pct > travel->highest_pct - AT_END_PCT)
        continue;
      const double duty = plag_effort_duty_at(effort, &cursor, trace->time_ns[i]);
      if (isfinite(duty))
        out[count++] = (point){pct, duty};
    }
  }
  return count;
}

/* Least absolute residuals by reweighting: friction scatters widely, and not always evenly. Returns
 * the mean absolute residual; the line is the effort's. */
static double fit_line(const point *at, size_t count, plag_effort *effort) {
  double off = NAN;
  for (int round = 0; round < ROUNDS; round++) {
    double w = 0, x = 0, y = 0, xx = 0, xy = 0;
    off = 0.0;
    for (size_t i = 0; i < count; i++) {
      const double residual =
          fabs(at[i].duty - effort->at_closed - effort->per_pct * at[i].travel_pct);
      const double weight = round == 0 ? 1.0 : 1.0 / fmax(residual, ROBUST_DUTY);
      off += residual;
      w += weight;
      x += weight * at[i].travel_pct;
      y += weight * at[i].duty;
      xx += weight * at[i].travel_pct * at[i].travel_pct;
      xy += weight * at[i].travel_pct * at[i].duty;
    }
    const double spread = xx - x * x / w;
    if (!(spread > 0.0))
      return INFINITY;
    effort->per_pct = (xy - x * y / w) / spread;
    effort->at_closed = (y - effort->per_pct * x) / w;
  }
  return off / (double)count;
}

/* Thinned, for it need not be exact. */
static double stray_of(const point *at, size_t count, const plag_effort *effort) {
  double off_pct[MOST_STRAYS];
  const size_t stride = count / MOST_STRAYS + 1;
  size_t taken = 0;
  for (size_t i = 0; i < count; i += stride)
    off_pct[taken++] = fabs((at[i].duty - effort->at_closed) / effort->per_pct - at[i].travel_pct);
  return plag_quantile(off_pct, taken, 0.95);
}

/* Duty is regressed on travel, not the other way: in a loop the place is given, and friction
 * scatters the duty about what the spring needs, as far up as down (derived). */
static platelag_status fit_effort(plag_model *model, plag_effort *effort, platelag_error *error) {
  const size_t mark = plag_workspace_mark(model->workspace);
  point *at = plag_workspace_take(model->workspace, MOST_POINTS + 1, sizeof at[0]);
  if (!at)
    return plag_error_memory(error, "the effort of a controller");
  const size_t count = gather(model, effort, at);
  double low = INFINITY;
  double high = -INFINITY;
  for (size_t i = 0; i < count; i++) {
    low = fmin(low, at[i].travel_pct);
    high = fmax(high, at[i].travel_pct);
  }
  if (count >= LEAST_POINTS && high - low >= LEAST_SPAN) {
    const double off = fit_line(at, count, effort);
    effort->known = fabs(effort->per_pct) * (high - low) >= LEAST_RATIO * off;
    effort->stray_pct = stray_of(at, count, effort);
  }
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}

platelag_status plag_effort_find(plag_model *model, platelag_error *error) {
  const platelag_trace *trace = model->trace;
  model->effort = NULL;
  if (!trace->effort && !model->fit->loop.closed)
    return PLATELAG_OK;
  plag_effort *effort = plag_workspace_take(model->workspace, 1, sizeof *effort);
  if (!effort)
    return plag_error_memory(error, "the effort of a controller");
  *effort = (plag_effort){.duty = trace->effort ? trace->effort : trace->command};
  platelag_status status = fit_effort(model, effort, error);
  if (status == PLATELAG_OK && effort->known)
    status = plag_effort_watch_slips(model, effort, error);
  model->effort = effort;
  return status;
}
