/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/walk.h"

#include <math.h>

typedef struct plates {
  const double *parameter;
  size_t knots;
  double tau_s[2];
  double at_s;
  double pct;
  double target_pct;
  plag_knot_place place;
  double variance; /* of pct, by timing */
  double slope[PLAG_WALK_PARAMETERS];
  double last_dt_s[2], last_factor[2];
} plates;

static double target_of(const plates *p, const plag_knot_place *place) {
  const double *pct = p->parameter + PLAG_WALK_KNOTS;
  return pct[place->below] + place->share * (pct[place->above] - pct[place->below]);
}

static int way_of(const plates *p) {
  return p->target_pct > p->pct;
}

static double factor_over(plates *p, int way, double dt_s) {
  if (dt_s != p->last_dt_s[way]) {
    p->last_dt_s[way] = dt_s;
    p->last_factor[way] = exp(-dt_s / p->tau_s[way]);
  }
  return p->last_factor[way];
}

static void advance(plates *p, double to_s) {
  const double dt_s = to_s - p->at_s;
  if (!(dt_s > 0.0))
    return;
  const int way = way_of(p);
  const double factor = factor_over(p, way, dt_s);
  const double off = p->pct - p->target_pct;
  for (size_t k = 0; k < PLAG_WALK_KNOTS + p->knots; k++)
    p->slope[k] *= factor;
  p->slope[PLAG_WALK_LOG_TAU_CLOSE + way] += off * factor * dt_s / p->tau_s[way];
  const double rest = 1.0 - factor;
  p->slope[PLAG_WALK_KNOTS + p->place.below] += rest * (1.0 - p->place.share);
  p->slope[PLAG_WALK_KNOTS + p->place.above] += rest * p->place.share;
  p->pct = p->target_pct + off * factor;
  p->variance *= factor * factor;
  p->at_s = to_s;
}

static double speed_of(const plates *p) {
  return (p->target_pct - p->pct) / p->tau_s[way_of(p)];
}

static void feel(plates *p, const plag_stretch_event *event, bool on_rows) {
  const double old_speed = speed_of(p);
  const double old_target = p->target_pct;
  p->place = event->place;
  p->target_pct = target_of(p, &p->place);
  const double saltation = old_speed - speed_of(p);
  p->slope[PLAG_WALK_DEAD_TIME] += saltation;
  if (on_rows)
    return;
  const double step = p->target_pct - old_target;
  const double most = 0.25 * step * step;
  p->variance += fmin(saltation * saltation * event->width_s * event->width_s / 12.0, most);
}

static double felt_at(const plag_stretch_event *event, const plag_walk_model *model) {
  return event->by_s + model->parameter[PLAG_WALK_DEAD_TIME] -
         (model->on_rows ? 0.0 : 0.5 * event->width_s);
}

static void begin(plates *p, const plag_stretches *s, const plag_stretch *stretch) {
  p->at_s = 0.0;
  p->pct = s->travel_pct[stretch->first];
  p->place = stretch->place;
  p->target_pct = target_of(p, &p->place);
  p->variance = 0.0;
  for (size_t k = 0; k < PLAG_WALK_PARAMETERS; k++)
    p->slope[k] = 0.0;
}

void plag_walk(const plag_stretches *stretches, const plag_walk_model *model,
               void (*visit)(const plag_walk_point *point, void *context), void *context) {
  plates p = {
      .parameter = model->parameter,
      .knots = stretches->knots,
      .tau_s = {exp(model->parameter[PLAG_WALK_LOG_TAU_CLOSE]),
                exp(model->parameter[PLAG_WALK_LOG_TAU_OPEN])},
      .last_dt_s = {-1.0, -1.0},
  };
  for (size_t k = 0; k < stretches->count; k++) {
    const plag_stretch *stretch = &stretches->stretch[k];
    const plag_stretch_event *event = stretches->event + stretch->first_event;
    const plag_stretch_event *end = event + stretch->event_count;
    begin(&p, stretches, stretch);
    double last_s = 0.0;
    for (; event < end && felt_at(event, model) <= 0.0; event++) {
      p.place = event->place; /* before the start: only what it asks for counts */
      p.target_pct = target_of(&p, &p.place);
    }
    for (size_t i = stretch->first + 1; i < stretch->first + stretch->count; i++) {
      const double now_s = stretches->time_s[i];
      for (; event < end && felt_at(event, model) <= now_s; event++) {
        advance(&p, felt_at(event, model));
        feel(&p, event, model->on_rows);
      }
      advance(&p, now_s);
      if (!stretches->usable[i])
        continue;
      visit(&(plag_walk_point){k, now_s, now_s - last_s, stretches->travel_pct[i] - p.pct,
                               p.variance, p.slope},
            context);
      last_s = now_s;
    }
  }
}
