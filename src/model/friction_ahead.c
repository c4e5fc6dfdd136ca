/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction_ahead.h"

#include <math.h>
#include <string.h>

#define P PLAG_FRICTION_PARAMETERS

/* Where drive and plates are, and how that depends on the parameters. Everything is in % of travel:
 * the drive is where plates without friction would be. */
typedef struct course {
  const plag_friction_record *record;
  const plag_friction_model *plates;
  plag_friction_walk *out;
  double goal_pct, drive_pct, position_pct;
  int direction; /* 0 stopped */
  bool follows;  /* moved with the drive up to now */
  double changed_s;
  double drive_timing_pct2, timing_pct2;
  double inverse_tau_open, inverse_tau_close;
  double goal_by[P], drive_by[P], position_by[P];
  uint16_t movements;
} course;

static double inverse_tau(const course *c) {
  return c->goal_pct > c->drive_pct ? c->inverse_tau_open : c->inverse_tau_close;
}

static inline void build_up(course *c, const plag_moment *moment, bool derive) {
  const double way = c->drive_pct - c->goal_pct;
  const bool opens = way < 0.0;
  const double fade = opens ? moment->fade_open : moment->fade_close;
  if (derive) {
    for (int k = 0; k < P; k++)
      c->drive_by[k] = c->goal_by[k] + (c->drive_by[k] - c->goal_by[k]) * fade;
    c->drive_by[opens ? PLAG_BY_LOG_TAU_OPEN : PLAG_BY_LOG_TAU_CLOSE] +=
        way * fade * moment->dt_s * inverse_tau(c);
  }
  c->drive_pct = c->goal_pct + way * fade;
  c->drive_timing_pct2 *= fade * fade;
}

/* Plates that move are where the drive takes them, friction taken off. */
static inline void go_along(course *c, bool derive) {
  const plag_stiction *element = &c->plates->element;
  const double free_pct = c->drive_pct - c->direction * element->behind_pct;
  c->position_pct = free_pct < element->lowest_pct    ? element->lowest_pct
                    : free_pct > element->highest_pct ? element->highest_pct
                                                      : free_pct;
  c->follows = c->position_pct == free_pct; /* not against a stop */
  c->timing_pct2 = c->follows ? c->drive_timing_pct2 : 0.0;
  if (!derive)
    return;
  if (!c->follows) {
    memset(c->position_by, 0, sizeof c->position_by);
    return;
  }
  memcpy(c->position_by, c->drive_by, sizeof c->position_by);
  c->position_by[PLAG_BY_BEHIND] -= c->direction;
}

static bool against_stop(const course *c, double pull_pct) {
  const plag_stiction *element = &c->plates->element;
  return pull_pct > 0.0 ? c->position_pct >= element->highest_pct
                        : c->position_pct <= element->lowest_pct;
}

static void derive_pull(const course *c, double way, double *by) {
  for (int k = 0; k < P; k++)
    by[k] = way * (c->drive_by[k] - c->position_by[k]);
}

/* Plates that stand, under a pull that is the largest since the moment before. */
static inline void withstand_or_leave(course *c, bool derive) {
  const double pull_pct = c->drive_pct - c->position_pct;
  const double size = fabs(pull_pct);
  if (against_stop(c, pull_pct))
    return;
  if (size <= c->plates->element.leave_pct + 1e-9) {
    if (size > c->out->most_withstood_pct) {
      c->out->most_withstood_pct = size;
      if (derive)
        derive_pull(c, copysign(1.0, pull_pct), c->out->withstood_by);
    }
    return;
  }
  if (size < c->out->least_released_pct) {
    c->out->least_released_pct = size;
    if (derive)
      derive_pull(c, copysign(1.0, pull_pct), c->out->released_by);
  }
  c->direction = pull_pct > 0.0 ? 1 : -1;
  c->movements++;
  go_along(c, derive);
}

/* The drive goes one way from moment to moment, so that where it ends is all that counts. */
static inline void answer(course *c, bool derive) {
  const plag_stiction *element = &c->plates->element;
  if (c->direction != 0) {
    const double ahead_pct = (c->drive_pct - c->position_pct) * c->direction - element->behind_pct;
    if (ahead_pct > 0.0)
      go_along(c, derive);
    if (ahead_pct >= 0.0)
      return;
    c->direction = 0;
    c->follows = false;
  }
  withstand_or_leave(c, derive);
}

static void take_goal(course *c, double map_pct) {
  c->goal_pct = c->plates->offset_pct + c->plates->factor * map_pct;
  memset(c->goal_by, 0, sizeof c->goal_by);
  c->goal_by[PLAG_BY_OFFSET] = 1.0;
  c->goal_by[PLAG_BY_FACTOR] = map_pct;
}

static inline void feed(course *c, const plag_moment *moment) {
  if (c->direction != 0 && moment->at_s - c->changed_s > c->plates->element.rest_s) {
    c->direction = 0;
    c->follows = false;
  }
  c->changed_s = moment->at_s;
  const double before_pct = c->goal_pct;
  take_goal(c, c->record->event_pct[moment->index]);
  c->drive_timing_pct2 += plag_friction_timing_pct2(c->goal_pct - before_pct, inverse_tau(c),
                                                    c->record->event_open_s[moment->index]);
}

static inline void keep(const course *c, size_t sample, bool derive) {
  c->out->predicted_pct[sample] = c->position_pct;
  c->out->spread_pct2[sample] = c->timing_pct2;
  if (!derive)
    return;
  double *to = c->out->derivative + sample * P;
  memcpy(to, c->position_by, sizeof c->position_by);
  /* All that is felt comes later by the dead time. */
  to[PLAG_BY_DEAD_TIME] = c->follows ? (c->drive_pct - c->goal_pct) * inverse_tau(c) : 0.0;
  c->out->movement[sample] = c->movements;
}

/* The drive is where plates that move show it, else at its goal, as far as standing plates allow.
 */
static void start(course *c, const plag_friction_stretch *stretch, double at_s) {
  const plag_stiction *element = &c->plates->element;
  const double position_pct = stretch->travel_at_start_pct;
  const int direction = stretch->direction_at_start;
  const bool moves =
      direction != 0 && (c->goal_pct - position_pct) * direction > element->behind_pct;
  c->position_pct = position_pct;
  c->direction = moves ? direction : 0;
  c->follows = false;
  c->drive_pct = moves ? position_pct + direction * element->behind_pct
                       : fmin(fmax(c->goal_pct, position_pct - element->leave_pct),
                              position_pct + element->leave_pct);
  c->changed_s = at_s;
  c->drive_timing_pct2 = c->timing_pct2 = 0.0;
  memset(c->position_by, 0, sizeof c->position_by);
  memset(c->drive_by, 0, sizeof c->drive_by);
  if (c->drive_pct == c->goal_pct)
    memcpy(c->drive_by, c->goal_by, sizeof c->drive_by);
}

static inline void walk_stretch(course *c, const plag_friction_stretch *stretch, bool derive) {
  const plag_friction_record *record = c->record;
  const plag_moment *end = plag_friction_end_moment(record, stretch);
  const double start_s = record->time_s[stretch->first_sample];
  double map_pct = 0.0;
  const plag_moment *moment = plag_friction_first_moment(record, stretch, &map_pct);
  take_goal(c, map_pct);
  start(c, stretch, start_s);
  for (; moment < end; moment++) {
    build_up(c, moment, derive);
    answer(c, derive);
    if (moment->is_event)
      feed(c, moment);
    else
      keep(c, moment->index, derive);
  }
}

void plag_friction_ahead_walk(const plag_friction_record *record, const plag_friction_model *plates,
                              plag_friction_walk *walk, bool derive) {
  course c = {.record = record,
              .plates = plates,
              .out = walk,
              .inverse_tau_open = 1.0 / plates->lag.tau_open_s,
              .inverse_tau_close = 1.0 / plates->lag.tau_close_s};
  walk->most_withstood_pct = 0.0;
  walk->least_released_pct = INFINITY;
  for (size_t s = 0; s < record->stretch_count; s++) {
    c.movements++;
    if (derive)
      walk_stretch(&c, &record->stretch[s], true);
    else
      walk_stretch(&c, &record->stretch[s], false);
  }
}
