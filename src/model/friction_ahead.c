/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction_ahead.h"

#include <math.h>
#include <string.h>

#include "model/friction_tally.h"
#include "model/friction_way.h"

#define P PLAG_FRICTION_PARAMETERS

/* What stays the same along a record. */
typedef struct course {
  const plag_friction_record *record;
  const plag_friction_model *plates;
  plag_friction_walk *out;
  double leave_pct, behind_pct, lowest_pct, highest_pct, rest_s;
  plag_friction_rates rates;
} course;

/* Where drive and plates are, in % of travel: the drive is where plates without friction would be,
 * on its way to a goal. */
typedef struct place {
  plag_friction_way way;
  double goal_pct, position_pct;
  int direction; /* 0 stopped */
  bool follows;  /* moved with the drive up to now */
  double changed_s;
  double timing_pct2; /* of the plates */
  plag_friction_cell cell;
} place;

/* How that depends on the parameters. */
typedef struct slopes {
  double goal_by[P], way_by[P], position_by[P];
  uint16_t movements;
} slopes;

static inline double drive_pct(const place *at) {
  return at->goal_pct + at->way.pct;
}

/* Plates that move are where the drive takes them, friction taken off. */
static inline void go_along(const course *c, place *at, slopes *by, plag_walk_purpose what) {
  const double free_pct = drive_pct(at) - at->direction * c->behind_pct;
  at->position_pct = free_pct < c->lowest_pct    ? c->lowest_pct
                     : free_pct > c->highest_pct ? c->highest_pct
                                                 : free_pct;
  at->follows = at->position_pct == free_pct; /* not against a stop */
  at->timing_pct2 = at->follows ? at->way.timing_pct2 : 0.0;
  if (what != PLAG_WALK_DERIVE)
    return;
  for (int k = 0; k < P; k++)
    by->position_by[k] = at->follows ? by->goal_by[k] + by->way_by[k] : 0.0;
  if (at->follows)
    by->position_by[PLAG_BY_BEHIND] -= at->direction;
}

static inline bool against_stop(const course *c, const place *at, double pull_pct) {
  return pull_pct > 0.0 ? at->position_pct >= c->highest_pct : at->position_pct <= c->lowest_pct;
}

static void derive_pull(const slopes *by, double way, double *to) {
  for (int k = 0; k < P; k++)
    to[k] = way * (by->goal_by[k] + by->way_by[k] - by->position_by[k]);
}

/* Plates that stand, under a pull that is the largest since the moment before. */
static inline void withstand_or_leave(const course *c, place *at, slopes *by,
                                      plag_walk_purpose what) {
  const double pull_pct = drive_pct(at) - at->position_pct;
  const double size = fabs(pull_pct);
  if (size <= c->leave_pct + PLAG_STICTION_HAIR_PCT) {
    if (size > at->cell.most_withstood_pct && !against_stop(c, at, pull_pct)) {
      at->cell.most_withstood_pct = size;
      if (what == PLAG_WALK_DERIVE)
        derive_pull(by, copysign(1.0, pull_pct), c->out->withstood_by);
    }
    return;
  }
  if (against_stop(c, at, pull_pct))
    return;
  if (size < at->cell.least_released_pct) {
    at->cell.least_released_pct = size;
    if (what == PLAG_WALK_DERIVE)
      derive_pull(by, copysign(1.0, pull_pct), c->out->released_by);
  }
  at->direction = pull_pct > 0.0 ? 1 : -1;
  if (what == PLAG_WALK_DERIVE)
    by->movements++;
  go_along(c, at, by, what);
}

static inline void stop(place *at) {
  at->direction = 0;
  at->follows = false;
}

/* The drive goes one way from moment to moment, so that where it ends is all that counts. */
static inline void answer(const course *c, place *at, slopes *by, plag_walk_purpose what) {
  if (at->direction != 0) {
    const double ahead_pct = (drive_pct(at) - at->position_pct) * at->direction - c->behind_pct;
    if (ahead_pct > 0.0)
      go_along(c, at, by, what);
    if (ahead_pct >= 0.0)
      return;
    stop(at);
  }
  withstand_or_leave(c, at, by, what);
}

static inline double goal_pct(const course *c, double map_pct) {
  return c->plates->offset_pct + c->plates->factor * map_pct;
}

/* A goal by the parameters. */
static inline void derive_goal(slopes *by, double map_pct) {
  memset(by->goal_by, 0, sizeof by->goal_by);
  by->goal_by[PLAG_BY_OFFSET] = 1.0;
  by->goal_by[PLAG_BY_FACTOR] = map_pct;
}

static inline void feed(const course *c, place *at, slopes *by, const plag_moment *moment,
                        plag_walk_purpose what) {
  if (at->direction != 0 && moment->at_s - at->changed_s > c->rest_s)
    stop(at);
  at->changed_s = moment->at_s;
  const double map_pct = c->record->event_pct[moment->index];
  const double to_pct = goal_pct(c, map_pct);
  const double moved_pct = to_pct - at->goal_pct;
  at->goal_pct = to_pct;
  at->way.pct -= moved_pct;
  at->way.timing_pct2 += plag_friction_timing_pct2(
      moved_pct, plag_friction_rate(&c->rates, &at->way), c->record->event_open_s[moment->index]);
  if (what != PLAG_WALK_DERIVE)
    return;
  for (int k = 0; k < P; k++)
    by->way_by[k] += by->goal_by[k];
  derive_goal(by, map_pct);
  for (int k = 0; k < P; k++)
    by->way_by[k] -= by->goal_by[k];
}

static inline void keep(const course *c, const place *at, const slopes *by, size_t sample,
                        plag_walk_purpose what) {
  c->out->predicted_pct[sample] = at->position_pct;
  c->out->spread_pct2[sample] = at->timing_pct2;
  if (what != PLAG_WALK_DERIVE)
    return;
  double *to = c->out->derivative + sample * P;
  memcpy(to, by->position_by, sizeof by->position_by);
  /* All that is felt comes later by the dead time. */
  to[PLAG_BY_DEAD_TIME] = at->follows ? at->way.pct * plag_friction_rate(&c->rates, &at->way) : 0.0;
  c->out->movement[sample] = by->movements;
}

/* The drive is where plates that move show it, else at its goal, as far as standing plates allow.
 */
static inline void start(const course *c, place *at, slopes *by,
                         const plag_friction_stretch *stretch, double map_pct,
                         plag_walk_purpose what) {
  const double position_pct = stretch->travel_at_start_pct;
  const int direction = stretch->direction_at_start;
  at->goal_pct = goal_pct(c, map_pct);
  const bool moves = direction != 0 && (at->goal_pct - position_pct) * direction > c->behind_pct;
  const double drive =
      moves ? position_pct + direction * c->behind_pct
            : fmin(fmax(at->goal_pct, position_pct - c->leave_pct), position_pct + c->leave_pct);
  at->position_pct = position_pct;
  at->way.pct = drive - at->goal_pct;
  at->cell.begins_by_leave = at->cell.begins_by_leave || (!moves && at->way.pct != 0.0);
  at->direction = moves ? direction : 0;
  at->follows = false;
  at->changed_s = c->record->time_s[stretch->first_sample];
  at->way.timing_pct2 = at->timing_pct2 = 0.0;
  if (what != PLAG_WALK_DERIVE)
    return;
  derive_goal(by, map_pct);
  memset(by->position_by, 0, sizeof by->position_by);
  const bool arrived = at->way.pct == 0.0;
  for (int k = 0; k < P; k++)
    by->way_by[k] = arrived ? 0.0 : -by->goal_by[k];
}

static inline plag_friction_cell walk_all(const course *c, plag_walk_purpose what,
                                          plag_friction_tally *tally) {
  const plag_friction_record *record = c->record;
  place at = {.cell = {.least_released_pct = INFINITY}};
  slopes by = {.movements = 0};
  for (size_t s = 0; s < record->stretch_count; s++) {
    const plag_friction_stretch *stretch = &record->stretch[s];
    const plag_moment *end = plag_friction_end_moment(record, stretch);
    double map_pct = 0.0;
    const plag_moment *moment = plag_friction_first_moment(record, stretch, &map_pct);
    by.movements++;
    start(c, &at, &by, stretch, map_pct, what);
    for (; moment < end; moment++) {
      plag_friction_fade(&c->rates, moment, what, &at.way, by.way_by);
      answer(c, &at, &by, what);
      if (moment->is_event)
        feed(c, &at, &by, moment, what);
      else if (what == PLAG_WALK_SCORE)
        plag_friction_tally_add(tally, record->travel_pct[moment->index] - at.position_pct,
                                at.timing_pct2);
      else
        keep(c, &at, &by, moment->index, what);
    }
  }
  return at.cell;
}

static course begin(const plag_friction_record *record, const plag_friction_model *plates,
                    plag_friction_walk *walk) {
  const plag_stiction *element = &plates->element;
  return (course){.record = record,
                  .plates = plates,
                  .out = walk,
                  .leave_pct = element->leave_pct,
                  .behind_pct = element->behind_pct,
                  .lowest_pct = element->lowest_pct,
                  .highest_pct = element->highest_pct,
                  .rest_s = element->rest_s,
                  .rates = plag_friction_rates_of(&plates->lag)};
}

void plag_friction_ahead_walk(const plag_friction_record *record, const plag_friction_model *plates,
                              plag_friction_walk *walk, bool derive) {
  const course c = begin(record, plates, walk);
  if (derive)
    walk->cell = walk_all(&c, PLAG_WALK_DERIVE, NULL);
  else
    walk->cell = walk_all(&c, PLAG_WALK_PREDICT, NULL);
}

double plag_friction_ahead_cost(const plag_friction_record *record,
                                const plag_friction_model *plates, double noise_pct,
                                plag_friction_cell *cell) {
  const course c = begin(record, plates, NULL);
  plag_friction_tally tally = plag_friction_tally_of(noise_pct);
  *cell = walk_all(&c, PLAG_WALK_SCORE, &tally);
  return plag_friction_tally_cost(&tally, record->sample_count);
}
