/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the effort tells in a closed loop. It climbs while plates hold. And where the command's
 * steps do not show friction, for a controller takes their error away, the duty does: each time the
 * plates let go under a duty that crept up, it tells what they withstood, and where they stop
 * again, what is left. S = withstood + left, J = withstood - left. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/effort.h"
#include "model/held.h"
#include "model/loop.h"
#include "model/workspace.h"

#define STAND_S        0.3 /* plates that stood so long were held, if anything held them */
#define MOST_MOVE_S    0.6 /* a slip is over sooner: longer moves were driven */
#define LEAST_LOOKS    2.5 /* samples in that time: what is seen more seldom may have been driven */
#define LEAST_SLIP_PCT 2.0
#define CREEP_PCT      1.0 /* of pull from sample to sample, and ... */
#define CREEP_PCT_PER_S                                                                            \
  8.0 /* ... so much more: what grows faster drives them off, whatever holds */
#define AFTER_LEAP_S     0.5  /* for so long */
#define LEAST_SLIP_SHARE 0.25 /* of the band: what slips less looks like plates that move slowly   \
                               */
#define MOST_SLIPS   1024     /* of a long capture the first */
#define LEAST_SLIPS  6
#define LEAST_SD_PCT 0.5 /* of a place's pull: supply voltage, the line's error */

typedef struct slips {
  double *withstood, *left; /* pull, % of travel, the way of the slip */
  size_t count;
} slips;

/* Plates that stand, or do not yet. */
typedef struct standing {
  double anchor_pct;
  int64_t from_ns, last_ns;
  double first_pull_pct, last_pull_pct; /* by effort */
} standing;

typedef struct watch {
  standing now, before; /* the stand before the move that is under way */
  bool moving;          /* plates left `before` unforced and `now` is where they may stop */
  int64_t leapt_ns;     /* when the duty last leapt */
  double asked_pct;     /* by the duty, the last sample, at ... */
  int64_t at_ns;
} watch;

static void begin(standing *stand, double pct, int64_t time_ns, double pull_pct) {
  *stand = (standing){pct, time_ns, time_ns, pull_pct, pull_pct};
}

/* The plates left their stand: a slip, if nothing drove them off. */
static void leave(watch *w, double pct, int64_t time_ns, double pull_pct) {
  const standing *stand = &w->now;
  if (platelag_seconds(stand->last_ns - stand->from_ns) >= STAND_S) {
    w->before = *stand;
    w->moving = (pct - stand->anchor_pct) * stand->last_pull_pct > 0.0 &&
                platelag_seconds(time_ns - w->leapt_ns) > AFTER_LEAP_S;
  }
  begin(&w->now, pct, time_ns, pull_pct);
}

/* The plates stand again: what they slipped by, and what is left of the pull. */
static void land(watch *w, slips *out) {
  const double way = w->now.anchor_pct - w->before.anchor_pct;
  const double took_s = platelag_seconds(w->now.from_ns - w->before.last_ns);
  w->moving = false;
  if (took_s > MOST_MOVE_S || fabs(way) < LEAST_SLIP_PCT || way * w->before.last_pull_pct <= 0.0 ||
      out->count == MOST_SLIPS)
    return;
  out->withstood[out->count] = fabs(w->before.last_pull_pct);
  out->left[out->count++] = copysign(1.0, way) * w->now.first_pull_pct;
}

static void watch_segment(const plag_model *model, size_t index, plag_effort *effort, slips *out) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const double band_pct = plag_held_band_pct(model);
  watch w = {.now = {.anchor_pct = NAN},
             .leapt_ns = segment->from_ns,
             .at_ns = segment->from_ns,
             .asked_pct = NAN};
  for (size_t k = 0; k < segment->sample_count; k++) {
    const size_t i = segment->first_sample + k;
    if (platelag_mode_is_void((platelag_mode)model->mode[i]))
      continue;
    const int64_t now_ns = trace->time_ns[i];
    const double pct = platelag_trace_travel_pct(trace, trace->level[i]);
    const double asked_pct = plag_effort_asked_pct(effort, plag_effort_duty_at(effort, now_ns));
    const double grown_pct = (asked_pct - w.asked_pct) * copysign(1.0, asked_pct - pct);
    if (!(grown_pct <= CREEP_PCT + CREEP_PCT_PER_S * platelag_seconds(now_ns - w.at_ns)))
      w.leapt_ns = now_ns;
    w.asked_pct = asked_pct;
    w.at_ns = now_ns;
    if (!(fabs(pct - w.now.anchor_pct) <= band_pct)) {
      leave(&w, pct, now_ns, asked_pct - pct);
      continue;
    }
    if (w.moving && w.now.last_ns == w.now.from_ns) {
      w.now.first_pull_pct = 0.5 * (w.now.first_pull_pct + asked_pct - w.now.anchor_pct);
      land(&w, out);
    }
    w.now.last_ns = now_ns;
    w.now.last_pull_pct = asked_pct - w.now.anchor_pct;
  }
}

static platelag_estimate estimate(double value, double sd, size_t count, double least) {
  const double half = 1.645 * fmax(sd, LEAST_SD_PCT) * 1.2533 / sqrt((double)count) + LEAST_SD_PCT;
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, fmax(value, least), fmax(value - half, least),
                             fmax(value + half, least)};
}

static void report(plag_model *model, slips *seen) {
  if (seen->count < LEAST_SLIPS)
    return;
  const double withstood = plag_median(seen->withstood, seen->count);
  const double left = plag_median(seen->left, seen->count);
  const double sd = hypot(plag_median_deviation(seen->withstood, seen->count),
                          plag_median_deviation(seen->left, seen->count));
  if (withstood - left < LEAST_SLIP_SHARE * (withstood + left))
    return;
  platelag_friction *friction = &model->fit->friction;
  friction->stick_band_pct = estimate(withstood + fmax(left, 0.0), sd, seen->count, 0.0);
  friction->slip_jump_pct = estimate(withstood - left, sd, seen->count, 0.0);
}

static void measure_slips(plag_model *model, plag_effort *effort, slips *seen) {
  plag_effort_rewind(effort);
  for (size_t s = 0; s < model->trace->segment_count; s++)
    watch_segment(model, s, effort, seen);
}

/* Over the held intervals, the way they were pulled; held intervals are in order of time. */
static void measure_climb(plag_model *model, plag_effort *effort, double *climb, size_t room) {
  platelag_fit *fit = model->fit;
  const size_t stride = fit->held_count / room + 1;
  size_t count = 0;
  plag_effort_rewind(effort);
  for (size_t k = 0; k < fit->held_count; k += stride) {
    const platelag_held *held = &fit->held[k];
    const double from = plag_effort_duty_at(effort, held->from_ns);
    const double rise = plag_effort_duty_at(effort, held->to_ns) - from;
    if (isfinite(rise))
      climb[count++] = held->pull_pct > 0.0 ? rise : -rise;
  }
  fit->loop.effort_while_held_pct = plag_median(climb, count);
}

platelag_status plag_loop_measure_effort(plag_model *model, platelag_error *error) {
  const platelag_channel *duty = plag_loop_duty(model);
  if (!duty)
    return PLATELAG_OK;
  const size_t mark = plag_workspace_mark(model->workspace);
  slips seen = {
      .withstood = plag_workspace_take(model->workspace, MOST_SLIPS, sizeof(double)),
      .left = plag_workspace_take(model->workspace, MOST_SLIPS, sizeof(double)),
  };
  plag_effort effort;
  if (!seen.withstood || !seen.left || !plag_effort_fit(model, duty, &effort))
    return plag_error_memory(error, "the effort of a controller");
  measure_climb(model, &effort, seen.left, MOST_SLIPS);
  if (effort.known && LEAST_LOOKS * model->trace->position_refresh_s <= MOST_MOVE_S) {
    measure_slips(model, &effort, &seen);
    report(model, &seen);
  }
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
