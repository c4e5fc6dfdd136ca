/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/walk.h"

#include <math.h>

#include "core/exponential.h"

typedef struct plates {
  const double *parameter;
  size_t knots;
  double tau_s[2];
  double at_s;
  double pct;
  double target_pct;
  plag_knot_place from, to; /* the target is the mean of what both ask for */
  double variance;          /* of pct, by timing */
  double slope[PLAG_WALK_PARAMETERS];
  double last_dt_s[2], last_factor[2];
  const plag_stretch_event *event; /* felt last */
  double nudge;                    /* pct by its moment */
  int half;                        /* of the next event is felt */
} plates;

static double asked_by(const plates *p, const plag_knot_place *place) {
  const double *pct = p->parameter + PLAG_WALK_KNOTS;
  return pct[place->below] + place->share * (pct[place->above] - pct[place->below]);
}

static void ask(plates *p, plag_knot_place from, plag_knot_place to) {
  p->from = from;
  p->to = to;
  p->target_pct = 0.5 * (asked_by(p, &from) + asked_by(p, &to));
}

static void add_place(plates *p, const plag_knot_place *place, double weight) {
  p->slope[PLAG_WALK_KNOTS + place->below] += weight * (1.0 - place->share);
  p->slope[PLAG_WALK_KNOTS + place->above] += weight * place->share;
}

static int way_of(const plates *p) {
  return p->target_pct > p->pct;
}

static double factor_over(plates *p, int way, double dt_s) {
  if (dt_s != p->last_dt_s[way]) {
    p->last_dt_s[way] = dt_s;
    p->last_factor[way] = plag_exp(-dt_s / p->tau_s[way]);
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
  add_place(p, &p->from, 0.5 * (1.0 - factor));
  add_place(p, &p->to, 0.5 * (1.0 - factor));
  p->pct = p->target_pct + off * factor;
  p->variance *= factor * factor;
  p->nudge *= factor;
  p->at_s = to_s;
}

static double speed_of(const plates *p) {
  return (p->target_pct - p->pct) / p->tau_s[way_of(p)];
}

/* The input moves on; the moment of the whole change is known to `width_s`. */
static void feel(plates *p, plag_knot_place from, plag_knot_place to) {
  const double old_speed = speed_of(p);
  ask(p, from, to);
  p->nudge = old_speed - speed_of(p);
  p->slope[PLAG_WALK_DEAD_TIME] += p->nudge;
}

/* Behind the bracket a uniform moment leaves the variance of exp(U / tau), U from -width to 0. It
 * enters early by `early_s`, and has died down to that when the bracket ends. */
static void doubt(plates *p, const plag_stretch_event *event, const plag_knot_place *before,
                  double early_s) {
  if (!(event->unsure_s > 0.0))
    return;
  const double step_pct = asked_by(p, &event->place) - asked_by(p, before);
  const double taus = event->unsure_s / p->tau_s[step_pct > 0.0];
  const double mean = -expm1(-taus) / taus;
  const double share = -0.5 * expm1(-2.0 * taus) / taus - mean * mean;
  const double grown = exp(fmin(2.0 * early_s / p->tau_s[step_pct > 0.0], 3.0));
  p->variance += step_pct * step_pct * fmin(share * grown, 0.25);
}

/* A change somewhere in its bracket: in the mean, plates answer as to half of it at either of two
 * moments (Gauss's two points, exact to the third moment of a uniform one). */
#define GAUSS_POINT 0.2886751345948129 /* of the bracket, about its middle: 1 / sqrt(12) */

static void answer(plates *p, const plag_stretch_event *event, double at_s, bool on_rows,
                   double until_s, bool *whole) {
  const double away_s = on_rows ? 0.0 : GAUSS_POINT * event->width_s;
  const plag_knot_place before = p->from;
  *whole = true;
  if (away_s > 0.0 && p->half < 1) {
    if (at_s - away_s > until_s) {
      *whole = false;
      return;
    }
    advance(p, at_s - away_s);
    feel(p, before, event->place);
    p->half = 1;
  }
  if (at_s + away_s > until_s) {
    *whole = false;
    return;
  }
  advance(p, at_s + away_s);
  if (!on_rows)
    doubt(p, event, &before, 0.5 * event->width_s - away_s);
  feel(p, event->place, event->place);
  p->event = event;
  p->half = 0;
}

static double felt_at(const plag_stretch_event *event, const plag_walk_model *model) {
  return event->by_s + model->parameter[PLAG_WALK_DEAD_TIME] -
         (model->on_rows ? 0.0 : 0.5 * event->width_s);
}

static void begin(plates *p, const plag_stretches *s, const plag_stretch *stretch) {
  p->at_s = 0.0;
  p->pct = s->travel_pct[stretch->first];
  ask(p, stretch->place, stretch->place);
  p->variance = 0.0;
  p->event = NULL;
  p->nudge = 0.0;
  p->half = 0;
  for (size_t k = 0; k < PLAG_WALK_PARAMETERS; k++)
    p->slope[k] = 0.0;
}

void plag_walk(const plag_stretches *stretches, const plag_walk_model *model,
               bool (*visit)(const plag_walk_point *point, void *context), void *context) {
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
    for (; event < end && felt_at(event, model) <= 0.0; event++)
      ask(&p, event->place, event->place); /* before the start: only what it asks for counts */
    for (size_t i = stretch->first + 1; i < stretch->first + stretch->count; i++) {
      const double now_s = stretches->time_s[i];
      for (bool whole = true; whole && event < end; event += whole)
        answer(&p, event, felt_at(event, model), model->on_rows, now_s, &whole);
      advance(&p, now_s);
      if (!stretches->usable[i])
        continue;
      if (!visit(&(plag_walk_point){k, i, now_s, now_s - last_s, stretches->travel_pct[i] - p.pct,
                                    p.variance, p.event, p.nudge, p.slope},
                 context))
        return;
      last_s = now_s;
    }
  }
}
