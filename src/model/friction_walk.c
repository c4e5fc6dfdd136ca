/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction_walk.h"

#include <math.h>
#include <string.h>

#include "model/friction_ahead.h"

#define P PLAG_FRICTION_PARAMETERS

/* Where plates and element are, and how that depends on the parameters. */
typedef struct course {
  const plag_friction_record *record;
  const plag_friction_model *plates;
  plag_friction_walk *out;
  plag_stiction_state element;
  double position_pct, timing_pct2;
  double inverse_tau_open, inverse_tau_close;
  double position_by[P], output_by[P];
  uint16_t movements;
} course;

bool plag_friction_walk_take(plag_model *model, size_t samples, plag_friction_walk *walk) {
  *walk = (plag_friction_walk){
      .predicted_pct = plag_workspace_take(model->workspace, samples, sizeof(double)),
      .spread_pct2 = plag_workspace_take(model->workspace, samples, sizeof(double)),
      .derivative = plag_workspace_take(model->workspace, samples * P, sizeof(double)),
      .movement = plag_workspace_take(model->workspace, samples, sizeof(uint16_t)),
  };
  return walk->predicted_pct && walk->spread_pct2 && walk->derivative && walk->movement;
}

/* A pull by the parameters: target less output, the way it pulls. */
static void derive_pull(const course *c, double pull_pct, double map_pct, double *by) {
  const double way = pull_pct > 0.0 ? 1.0 : -1.0;
  for (int k = 0; k < P; k++)
    by[k] = -way * c->output_by[k];
  by[PLAG_BY_OFFSET] += way;
  by[PLAG_BY_FACTOR] += way * map_pct;
}

static void glide(course *c, const plag_moment *moment, bool derive) {
  const double way = c->position_pct - c->element.output_pct;
  const bool opens = way < 0.0;
  const double fade = opens ? moment->fade_open : moment->fade_close;
  c->position_pct = c->element.output_pct + way * fade;
  c->timing_pct2 *= fade * fade;
  if (!derive)
    return;
  for (int k = 0; k < P; k++)
    c->position_by[k] = c->output_by[k] + (c->position_by[k] - c->output_by[k]) * fade;
  if (opens)
    c->position_by[PLAG_BY_LOG_TAU_OPEN] += way * fade * moment->dt_s * c->inverse_tau_open;
  else
    c->position_by[PLAG_BY_LOG_TAU_CLOSE] += way * fade * moment->dt_s * c->inverse_tau_close;
}

static void add_timing(course *c, double output_moved_pct, double open_s) {
  const double inverse_tau =
      c->element.output_pct > c->position_pct ? c->inverse_tau_open : c->inverse_tau_close;
  c->timing_pct2 += plag_friction_timing_pct2(output_moved_pct, inverse_tau, open_s);
}

static void derive_output(course *c, double map_pct, int direction_before, double output_before) {
  const plag_stiction_state *element = &c->element;
  if (element->direction != 0 && direction_before != element->direction)
    c->movements++;
  if (element->output_pct == output_before)
    return;
  if (element->output_pct == c->position_pct) { /* stopped short */
    memcpy(c->output_by, c->position_by, sizeof c->output_by);
    return;
  }
  memset(c->output_by, 0, sizeof c->output_by);
  if (element->output_pct == c->plates->element.lowest_pct ||
      element->output_pct == c->plates->element.highest_pct)
    return; /* a stop */
  c->output_by[PLAG_BY_BEHIND] = -element->direction;
  c->output_by[PLAG_BY_OFFSET] = 1.0;
  c->output_by[PLAG_BY_FACTOR] = map_pct;
}

static void feed(course *c, const plag_moment *moment, bool derive) {
  const plag_friction_record *record = c->record;
  const plag_friction_model *plates = c->plates;
  const double map_pct = record->event_pct[moment->index];
  const double target_pct = plates->offset_pct + plates->factor * map_pct;
  const plag_stiction_state before = c->element;
  plag_stiction_feed(&c->element, &plates->element, target_pct, moment->at_s, c->position_pct);
  if (c->element.output_pct != before.output_pct)
    add_timing(c, c->element.output_pct - before.output_pct, record->event_open_s[moment->index]);
  if (!derive)
    return;
  if (c->element.most_withstood_pct > before.most_withstood_pct)
    derive_pull(c, target_pct - before.output_pct, map_pct, c->out->withstood_by);
  if (c->element.least_released_pct < before.least_released_pct)
    derive_pull(c, target_pct - before.output_pct, map_pct, c->out->released_by);
  derive_output(c, map_pct, before.direction, before.output_pct);
}

static void keep_derivatives(const course *c, size_t sample) {
  double *to = c->out->derivative + sample * P;
  memcpy(to, c->position_by, sizeof c->position_by);
  const double way = c->element.output_pct - c->position_pct;
  /* All that is felt comes later by the dead time. */
  to[PLAG_BY_DEAD_TIME] = -way * (way > 0.0 ? c->inverse_tau_open : c->inverse_tau_close);
  c->out->movement[sample] = c->movements;
}

static void walk_stretch(course *c, const plag_friction_stretch *stretch, bool derive) {
  const plag_friction_record *record = c->record;
  const plag_friction_model *plates = c->plates;
  const plag_moment *end = plag_friction_end_moment(record, stretch);
  const double start_s = record->time_s[stretch->first_sample];
  double map_pct = 0.0;
  const plag_moment *moment = plag_friction_first_moment(record, stretch, &map_pct);
  const double target_pct = plates->offset_pct + plates->factor * map_pct;
  const double most = c->element.most_withstood_pct;
  const double least = c->element.least_released_pct;
  c->position_pct = stretch->travel_at_start_pct;
  c->timing_pct2 = 0.0;
  plag_stiction_start(&c->element, &plates->element, c->position_pct, target_pct,
                      stretch->direction_at_start, start_s);
  c->element.most_withstood_pct = most;
  c->element.least_released_pct = least;
  memset(c->position_by, 0, sizeof c->position_by);
  memset(c->output_by, 0, sizeof c->output_by);
  if (derive)
    derive_output(c, map_pct, 0, c->position_pct);
  for (; moment < end; moment++) {
    glide(c, moment, derive);
    if (moment->is_event) {
      feed(c, moment, derive);
      continue;
    }
    c->out->predicted_pct[moment->index] = c->position_pct;
    c->out->spread_pct2[moment->index] = c->timing_pct2;
    if (derive)
      keep_derivatives(c, moment->index);
  }
}

static bool same_lag(const plag_lag_point *one, const plag_lag_point *other) {
  return one->dead_time_s == other->dead_time_s && one->tau_open_s == other->tau_open_s &&
         one->tau_close_s == other->tau_close_s;
}

static inline void walk_all(plag_friction_record *record, const plag_friction_model *plates,
                            plag_friction_walk *walk, bool derive) {
  if (!same_lag(&record->lag, &plates->lag))
    plag_friction_record_order(record, plates->lag);
  if (plates->order == PLAG_LAG_AHEAD) {
    plag_friction_ahead_walk(record, plates, walk, derive);
    return;
  }
  course c = {.record = record,
              .plates = plates,
              .out = walk,
              .element = {.least_released_pct = INFINITY},
              .inverse_tau_open = 1.0 / plates->lag.tau_open_s,
              .inverse_tau_close = 1.0 / plates->lag.tau_close_s};
  for (size_t s = 0; s < record->stretch_count; s++) {
    c.movements++;
    walk_stretch(&c, &record->stretch[s], derive);
  }
  walk->most_withstood_pct = c.element.most_withstood_pct;
  walk->least_released_pct = c.element.least_released_pct;
}

void plag_friction_walk_go(plag_friction_record *record, const plag_friction_model *plates,
                           plag_friction_walk *walk) {
  walk_all(record, plates, walk, false);
}

void plag_friction_walk_derive(plag_friction_record *record, const plag_friction_model *plates,
                               plag_friction_walk *walk) {
  walk_all(record, plates, walk, true);
}
