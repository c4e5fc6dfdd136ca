/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/pull.h"

#include <math.h>

#include "model/loop.h"

bool plag_pull_begin(plag_pull *pull, const plag_model *model) {
  const platelag_trace *trace = model->trace;
  const platelag_fit *fit = model->fit;
  const plag_lag_point lag = plag_lag_point_of(fit);
  *pull = (plag_pull){
      .kind = PLAG_PULL_BY_MAP,
      .lowest_pct = fit->travel.lowest_pct,
      .highest_pct = fit->travel.highest_pct,
      .asked_pct = NAN,
      .decay = {.tau_s = fmin(lag.tau_open_s, lag.tau_close_s), .dt_s = -1.0},
  };
  const platelag_channel *duty = plag_loop_duty(model);
  if (!duty)
    return true;
  if (!plag_effort_fit(model, duty, &pull->effort))
    return false;
  if (trace->effort)
    pull->kind = pull->effort.known ? PLAG_PULL_BY_BOTH : PLAG_PULL_BY_MAP;
  else
    pull->kind = pull->effort.known ? PLAG_PULL_BY_EFFORT : PLAG_PULL_BY_GROWTH;
  return true;
}

/* No further than the plates go at all: what is asked beyond a stop does not hold them. */
static double within_reach(const plag_pull *pull, double pct) {
  return fmin(fmax(pct, pull->lowest_pct), pull->highest_pct);
}

/* From where the plates are to what is asked, as far as they can follow. Plates past where they
 * usually end are not pulled back by a command that asks for that end. */
static double way_to(const plag_pull *pull, double asked_pct, double at_pct) {
  if ((asked_pct >= pull->highest_pct && at_pct >= pull->highest_pct) ||
      (asked_pct <= pull->lowest_pct && at_pct <= pull->lowest_pct))
    return 0.0;
  return within_reach(pull, asked_pct) - at_pct;
}

void plag_pull_advance(plag_pull *pull, const plag_course *course) {
  if (!pull->effort.known)
    return;
  const int64_t now_ns = course->model->trace->time_ns[course->sample];
  const double duty = plag_effort_duty_at(&pull->effort, now_ns);
  const double asked_pct = plag_effort_asked_pct(&pull->effort, duty);
  if (course->first || !isfinite(pull->asked_pct))
    pull->asked_pct = asked_pct;
  else if (isfinite(asked_pct))
    pull->asked_pct =
        asked_pct + (pull->asked_pct - asked_pct) * plag_decay_over(&pull->decay, course->dt_s);
}

double plag_pull_of_effort(const plag_pull *pull, double at_pct) {
  return pull->effort.known ? way_to(pull, pull->asked_pct, at_pct) : NAN;
}

/* The lesser of two that agree in sign. */
static double agreed(double one, double other) {
  if (!(one * other > 0.0))
    return 0.0;
  return fabs(one) < fabs(other) ? one : other;
}

double plag_pull_asked(const plag_pull *pull, const plag_course *course, double at_pct,
                       double start_target_pct) {
  const double by_map = way_to(pull, course->target_pct, at_pct);
  switch (pull->kind) {
  case PLAG_PULL_BY_EFFORT:
    return plag_pull_of_effort(pull, at_pct);
  case PLAG_PULL_BY_BOTH:
    return agreed(by_map, plag_pull_of_effort(pull, at_pct));
  case PLAG_PULL_BY_GROWTH:
    return course->target_pct - start_target_pct;
  case PLAG_PULL_BY_MAP:
    break;
  }
  return by_map;
}

double plag_pull_departed(const plag_pull *pull, const plag_course *course, double at_pct,
                          double start_target_pct) {
  const double by_course = way_to(pull, course->free_pct, at_pct);
  switch (pull->kind) {
  case PLAG_PULL_BY_EFFORT:
    return plag_pull_of_effort(pull, at_pct);
  case PLAG_PULL_BY_BOTH:
    return agreed(by_course, plag_pull_of_effort(pull, at_pct));
  case PLAG_PULL_BY_GROWTH:
    return course->target_pct - start_target_pct;
  case PLAG_PULL_BY_MAP:
    break;
  }
  return by_course;
}
