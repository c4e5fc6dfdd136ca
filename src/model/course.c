/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/course.h"

#include <math.h>

/* The middle of what is known, or `otherwise`. */
static double point_of(const platelag_estimate *estimate, double otherwise) {
  switch (estimate->known) {
  case PLATELAG_KNOWN_VALUE:
    return isfinite(estimate->value) ? estimate->value : otherwise;
  case PLATELAG_KNOWN_UPPER_LIMIT:
    return isfinite(estimate->high) ? 0.5 * fmax(estimate->high, 0.0) : otherwise;
  case PLATELAG_KNOWN_LOWER_LIMIT:
    return isfinite(estimate->low) ? estimate->low : otherwise;
  case PLATELAG_KNOWN_BRACKET:
    return isfinite(estimate->low + estimate->high) ? 0.5 * (estimate->low + estimate->high)
                                                    : otherwise;
  case PLATELAG_KNOWN_NOTHING:
    break;
  }
  return otherwise;
}

plag_lag_point plag_lag_point_of(const platelag_fit *fit) {
  const platelag_lag *lag = &fit->lag;
  const double usual_tau_s = 0.15;
  plag_lag_point point = {.dead_time_s = fmax(point_of(&lag->dead_time_s, 0.05), 0.0)};
  point.tau_open_s = point_of(&lag->opening_tau_s, NAN);
  point.tau_close_s = point_of(&lag->closing_tau_s, NAN);
  if (isnan(point.tau_open_s))
    point.tau_open_s = isnan(point.tau_close_s) ? usual_tau_s : point.tau_close_s;
  if (isnan(point.tau_close_s))
    point.tau_close_s = point.tau_open_s;
  point.tau_open_s = fmax(point.tau_open_s, 1e-3);
  point.tau_close_s = fmax(point.tau_close_s, 1e-3);
  return point;
}

static void glide(plag_course *course, int64_t until_ns) {
  if (until_ns <= course->at_ns)
    return;
  plag_decay *decay = course->target_pct > course->free_pct ? &course->open : &course->close;
  const double factor = plag_decay_over(decay, platelag_seconds(until_ns - course->at_ns));
  course->free_pct = course->target_pct + (course->free_pct - course->target_pct) * factor;
  course->at_ns = until_ns;
}

void plag_course_begin(plag_course *course, const plag_model *model) {
  *course = (plag_course){
      .model = model, .time_ns = model->trace->time_ns, .lag = plag_lag_point_of(model->fit)};
  course->open = (plag_decay){.tau_s = course->lag.tau_open_s, .dt_s = -1.0};
  course->close = (plag_decay){.tau_s = course->lag.tau_close_s, .dt_s = -1.0};
}

bool plag_course_enter(plag_course *course) {
  const platelag_trace *trace = course->model->trace;
  for (; course->next_segment < trace->segment_count; course->next_segment++) {
    const platelag_trace_segment *segment = &trace->segment[course->next_segment];
    if (segment->sample_count == 0)
      continue;
    course->segment = course->next_segment++;
    course->sample = segment->first_sample;
    course->end = segment->first_sample + segment->sample_count;
    course->first = true;
    plag_asked_begin(&course->asked, course->model, course->segment, course->lag.dead_time_s);
    course->target_pct = plag_asked_until(&course->asked, course->time_ns[course->sample]);
    course->last_move_pct = 0.0;
    course->dt_s = 0.0;
    course->travel_pct = platelag_trace_travel_pct(trace, trace->level[course->sample]);
    plag_course_let_go(course);
    return true;
  }
  return false;
}

void plag_course_take_change(plag_course *course) {
  const int64_t felt_ns = plag_asked_take_change(&course->asked);
  glide(course, felt_ns);
  course->last_move_pct = course->asked.pct - course->target_pct;
  course->target_pct = course->asked.pct;
}

void plag_course_let_go(plag_course *course) {
  course->free_pct = course->travel_pct;
  course->at_ns = course->time_ns[course->sample];
}

double plag_course_free_pct(plag_course *course) {
  glide(course, course->time_ns[course->sample]);
  return course->free_pct;
}
