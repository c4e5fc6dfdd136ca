/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Closed loop. Where a controller moves the duty until the position fits, the duty answers the
 * position: it goes on moving while the plates stand, and a move of the plates is followed by a
 * move of the duty the other way. In an open loop the duty rests between its steps, and nothing of
 * it depends on where the plates were. */
#include "model/loop.h"

#include <math.h>

#include "core/lesser.h"
#include "model/changes.h"
#include "model/held.h"

#define GRID_S         0.1 /* the plates' move over one step against the duty's over the next */
#define MOVED_PCT      3.0 /* what counts as a move of the plates */
#define MOVED_DUTY     0.6 /* and of the duty: more than one digit of a byte */
#define STILL_S        0.7 /* plates that stood so long stand */
#define LEAST_STILLS   30  /* windows of standing plates */
#define STILL_SHARE    0.2 /* of the record, or they hardly ever stand */
#define LEAST_MOVES    20
#define RESTLESS       0.5     /* of the windows in which the duty moved at all, ... */
#define AGAINST        (-0.05) /* ... with the duty going against the plates' moves */
#define CREEP_DUTY     0.8
#define CREEPING       0.6 /* of the windows in which it moved by more, whatever the moves say, ... */
#define ALONG          0.5 /* ... but that a ramp goes on the way the plates went */
#define LEAST_SPAN_PCT 10.0

/* What is counted. */
typedef struct sightings {
  double stills, restless, creeping; /* windows in which the plates stand */
  double moves, along;               /* moves of the plates; duty along less against */
} sightings;

/* A reading with the duty that was recorded by then. */
typedef struct reading {
  int64_t time_ns;
  double travel_pct, duty;
} reading;

/* The window of standing plates that is open. */
typedef struct standing {
  reading from;
  double low_pct, high_pct;
} standing;

static void look_at_standing(standing *now, const reading *at, double band_pct, bool inside,
                             sightings *seen) {
  now->low_pct = plag_lesser(now->low_pct, at->travel_pct);
  now->high_pct = plag_greater(now->high_pct, at->travel_pct);
  if (!inside || now->high_pct - now->low_pct > band_pct) {
    *now = (standing){*at, at->travel_pct, at->travel_pct};
    return;
  }
  if (platelag_seconds(at->time_ns - now->from.time_ns) < STILL_S)
    return;
  const double crept = fabs(at->duty - now->from.duty);
  seen->stills += 1.0;
  seen->restless += crept > 0.0;
  seen->creeping += crept > CREEP_DUTY;
  *now = (standing){*at, at->travel_pct, at->travel_pct};
}

static void look_at_move(const reading grid[2], const reading *at, sightings *seen) {
  const double moved_pct = grid[1].travel_pct - grid[0].travel_pct;
  const double answer = at->duty - grid[1].duty;
  if (!(fabs(moved_pct) >= MOVED_PCT) || !isfinite(answer))
    return;
  seen->moves += 1.0;
  if (fabs(answer) > MOVED_DUTY)
    seen->along += answer * moved_pct > 0.0 ? 1.0 : -1.0;
}

static void walk_segment(const plag_model *model, size_t index, sightings *seen) {
  const platelag_trace *trace = model->trace;
  const platelag_travel *travel = &model->fit->travel;
  const platelag_trace_segment *segment = &trace->segment[index];
  const int64_t grid_ns = (int64_t)(0.95e9 * plag_greater(GRID_S, trace->position_refresh_s));
  const double band_pct = 1.5 * plag_held_band_pct(model);
  const double end_pct = plag_held_band_pct(model) + 1.0;
  reading grid[2] = {{.time_ns = segment->from_ns, .travel_pct = NAN, .duty = NAN},
                     {.time_ns = segment->from_ns, .travel_pct = NAN, .duty = NAN}};
  standing now = {.low_pct = -INFINITY, .high_pct = INFINITY};
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double duty = segment->command_at_start;
  for (size_t k = 0; k < segment->sample_count; k++) {
    const size_t i = segment->first_sample + k;
    for (; changes.at_ns <= trace->time_ns[i]; plag_changes_advance(&changes))
      duty = changes.change.to;
    if (platelag_mode_is_void((platelag_mode)model->mode[i]))
      continue;
    const reading at = {trace->time_ns[i], platelag_trace_travel_pct(trace, trace->level[i]), duty};
    look_at_standing(&now, &at, band_pct,
                     at.travel_pct > travel->lowest_pct + end_pct &&
                         at.travel_pct < travel->highest_pct - end_pct,
                     seen);
    if (at.time_ns - grid[1].time_ns < grid_ns)
      continue;
    if (at.time_ns - grid[1].time_ns < 3 * grid_ns)
      look_at_move(grid, &at, seen);
    grid[0] = grid[1];
    grid[1] = at;
  }
}

platelag_status plag_loop_look(plag_model *model, platelag_error *error) {
  (void)error;
  platelag_fit *fit = model->fit;
  fit->loop =
      (platelag_loop){.lead_correlation = NAN, .restless_share = NAN, .effort_while_held_pct = NAN};
  if (model->trace->command_kind != PLATELAG_COMMAND_DUTY)
    return PLATELAG_OK;
  sightings seen = {0};
  for (size_t s = 0; s < model->trace->segment_count; s++)
    walk_segment(model, s, &seen);
  if (seen.moves >= LEAST_MOVES)
    fit->loop.lead_correlation = (fit->map_rising ? 1.0 : -1.0) * seen.along / seen.moves;
  if (seen.stills >= LEAST_STILLS)
    fit->loop.restless_share = seen.restless / seen.stills;
  const bool stands = seen.stills >= LEAST_STILLS &&
                      seen.stills * STILL_S >= STILL_SHARE * fit->coverage.recorded_s;
  fit->loop.closed =
      stands && fit->coverage.position_span_pct >= LEAST_SPAN_PCT &&
      ((seen.creeping >= CREEPING * seen.stills && !(fit->loop.lead_correlation > ALONG)) ||
       (fit->loop.restless_share >= RESTLESS && fit->loop.lead_correlation <= AGAINST));
  return PLATELAG_OK;
}
