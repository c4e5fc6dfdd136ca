/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Slips under a controller: plates that stood let go under a duty that crept up, and stop again a
 * moment later. What they withstood is known just before, what is left of the pull just after. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/effort.h"
#include "model/held.h"
#include "model/workspace.h"

#define STAND_S         0.3  /* plates that stood so long were held, if anything held them */
#define MOST_MOVE_S     0.25 /* a slip is over sooner, or within two samples: ... */
#define MOST_MOVES      2.1  /* ... longer moves were driven */
#define SETTLE_S        0.1  /* plates and duty have answered each other by then */
#define MOST_REFRESH_S  0.24 /* of the position, or nobody can tell */
#define AT_END_PCT      4.0
#define LEAST_SLIP_PCT  2.0
#define CREEP_PCT       1.0 /* of pull from sample to sample, and per second beside: what grows ... */
#define CREEP_PCT_PER_S 8.0  /* ... faster drives the plates off, whatever holds them, ... */
#define AFTER_LEAP_S    0.5  /* ... for so long */
#define MOST_SLIPS      1024 /* of a long capture the first */
#define LEAST_SLIPS     6    /* one way and the other, to balance the line */

typedef struct slips {
  double *withstood, *left; /* pull, % of travel, the way of the slip */
  signed char *way;         /* 1 opening, -1 closing */
  size_t count;
} slips;

/* Plates that stand, or do not yet. */
typedef struct standing {
  double anchor_pct;
  int64_t from_ns, last_ns;
  double last_pull_pct; /* by effort */
} standing;

typedef struct watch {
  standing now, before; /* the stand before the move that is under way */
  bool moving;          /* plates left `before` unforced and `now` is where they may stop */
  int64_t leapt_ns;     /* when the duty last leapt */
  double asked_pct;     /* by the duty, the last sample, at ... */
  int64_t at_ns;
} watch;

static void begin(standing *stand, double pct, int64_t time_ns, double pull_pct) {
  *stand = (standing){pct, time_ns, time_ns, pull_pct};
}

/* The plates left their stand: a slip, if nothing drove them off and no stop held them. */
static void leave(watch *w, const platelag_travel *travel, double pct, int64_t time_ns,
                  double pull_pct) {
  const standing *stand = &w->now;
  if (platelag_seconds(stand->last_ns - stand->from_ns) >= STAND_S) {
    w->before = *stand;
    w->moving = stand->anchor_pct > travel->lowest_pct + AT_END_PCT &&
                stand->anchor_pct < travel->highest_pct - AT_END_PCT &&
                (pct - stand->anchor_pct) * stand->last_pull_pct > 0.0 &&
                platelag_seconds(time_ns - w->leapt_ns) > AFTER_LEAP_S;
  }
  begin(&w->now, pct, time_ns, pull_pct);
}

/* The plates stand again, at `pct`: what they slipped by, and what is left of the pull. */
static void land(watch *w, double pct, double pull_pct, double most_s, double least_pct,
                 slips *out) {
  const double way = pct - w->before.anchor_pct;
  const double took_s = platelag_seconds(w->now.from_ns - w->before.last_ns);
  w->moving = false;
  if (took_s > most_s || fabs(way) < least_pct || way * w->before.last_pull_pct <= 0.0 ||
      out->count == MOST_SLIPS)
    return;
  out->way[out->count] = way > 0.0 ? 1 : -1;
  out->withstood[out->count] = fabs(w->before.last_pull_pct);
  out->left[out->count++] = copysign(1.0, way) * pull_pct;
}

static void watch_segment(const plag_model *model, size_t index, const plag_effort *effort,
                          size_t *cursor, slips *out) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const double band_pct = plag_held_band_pct(model);
  const double least_pct = fmax(LEAST_SLIP_PCT, band_pct);
  const double most_s = fmax(MOST_MOVE_S, MOST_MOVES * trace->position_refresh_s);
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
    const double asked_pct =
        plag_effort_asked_pct(effort, plag_effort_duty_at(effort, cursor, now_ns));
    const double grown_pct = (asked_pct - w.asked_pct) * copysign(1.0, asked_pct - pct);
    if (!(grown_pct <= CREEP_PCT + CREEP_PCT_PER_S * platelag_seconds(now_ns - w.at_ns)))
      w.leapt_ns = now_ns;
    w.asked_pct = asked_pct;
    w.at_ns = now_ns;
    if (!(fabs(pct - w.now.anchor_pct) <= band_pct)) {
      leave(&w, &model->fit->travel, pct, now_ns, asked_pct - pct);
      continue;
    }
    if (w.moving && platelag_seconds(now_ns - w.now.from_ns) >= SETTLE_S)
      land(&w, pct, asked_pct - pct, most_s, least_pct, out);
    w.now.last_ns = now_ns;
    w.now.last_pull_pct = asked_pct - w.now.anchor_pct;
  }
}

/* Median of what was withstood one way; `scratch` has room for all. NaN where they are few. */
static double withstood_by(const slips *seen, int way, double *scratch) {
  size_t count = 0;
  for (size_t k = 0; k < seen->count; k++)
    if (seen->way[k] == way)
      scratch[count++] = seen->withstood[k];
  return count >= LEAST_SLIPS ? plag_median(scratch, count) : NAN;
}

/* Friction is alike both ways; the scatter of standing duties need not be. The line is moved by
 * half the difference, and what was seen with it. */
static void balance(slips *seen, plag_effort *effort, double *scratch) {
  const double by_pct = 0.5 * (withstood_by(seen, 1, scratch) - withstood_by(seen, -1, scratch));
  if (!isfinite(by_pct))
    return;
  effort->at_closed += by_pct * effort->per_pct;
  for (size_t k = 0; k < seen->count; k++) {
    seen->withstood[k] -= seen->way[k] * by_pct;
    seen->left[k] -= seen->way[k] * by_pct;
  }
}

static void sum_up(slips *seen, plag_effort *effort, double *scratch) {
  for (size_t k = 0; k < seen->count; k++)
    scratch[k] = seen->withstood[k] + seen->left[k];
  effort->slips = seen->count;
  effort->scatter_pct = plag_median_deviation(scratch, seen->count);
  effort->withstood_pct = plag_median(seen->withstood, seen->count);
  effort->left_pct = plag_median(seen->left, seen->count);
}

platelag_status plag_effort_watch_slips(const plag_model *model, plag_effort *effort,
                                        platelag_error *error) {
  effort->slips = 0;
  effort->withstood_pct = effort->left_pct = effort->scatter_pct = NAN;
  if (model->trace->position_refresh_s > MOST_REFRESH_S)
    return PLATELAG_OK;
  const size_t mark = plag_workspace_mark(model->workspace);
  slips seen = {
      .withstood = plag_workspace_take(model->workspace, MOST_SLIPS, sizeof(double)),
      .left = plag_workspace_take(model->workspace, MOST_SLIPS, sizeof(double)),
      .way = plag_workspace_take(model->workspace, MOST_SLIPS, sizeof(signed char)),
  };
  double *scratch = plag_workspace_take(model->workspace, MOST_SLIPS, sizeof(double));
  if (!seen.withstood || !seen.left || !seen.way || !scratch)
    return plag_error_memory(error, "the slips of a controlled valve");
  size_t cursor = 0;
  for (size_t s = 0; s < model->trace->segment_count; s++)
    watch_segment(model, s, effort, &cursor, &seen);
  balance(&seen, effort, scratch);
  sum_up(&seen, effort, scratch);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
