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

static void enter_segment(plag_course *course) {
  const platelag_trace *trace = course->model->trace;
  const platelag_trace_segment *segment = &trace->segment[course->segment];
  course->sample = segment->first_sample;
  course->end = segment->first_sample + segment->sample_count;
  plag_asked_begin(&course->asked, course->model, course->segment, course->lag.dead_time_s);
  course->target_pct = course->asked.pct;
  course->last_move_pct = 0.0;
  course->at_ns = segment->from_ns;
  course->first = true;
}

void plag_course_begin(plag_course *course, const plag_model *model) {
  *course = (plag_course){.model = model, .lag = plag_lag_point_of(model->fit)};
  course->open = (plag_decay){.tau_s = course->lag.tau_open_s, .dt_s = -1.0};
  course->close = (plag_decay){.tau_s = course->lag.tau_close_s, .dt_s = -1.0};
}

/* The next change is felt: up to then plates went where they were asked before. */
static void take_change(plag_course *course) {
  const int64_t felt_ns = plag_asked_take_change(&course->asked);
  glide(course, felt_ns);
  course->last_move_pct = course->asked.pct - course->target_pct;
  course->target_pct = course->asked.pct;
}

bool plag_course_next(plag_course *course) {
  const platelag_trace *trace = course->model->trace;
  course->first = false;
  if (course->end == 0 && course->segment < trace->segment_count) {
    enter_segment(course); /* the very first */
  } else {
    course->sample++;
  }
  while (course->sample >= course->end) {
    if (course->segment + 1 >= trace->segment_count)
      return false;
    course->segment++;
    enter_segment(course);
  }
  const int64_t now_ns = trace->time_ns[course->sample];
  course->dt_s =
      course->first ? 0.0 : platelag_seconds(now_ns - trace->time_ns[course->sample - 1]);
  course->travel_pct = platelag_trace_travel_pct(trace, trace->level[course->sample]);
  if (course->first) {
    course->free_pct = course->travel_pct;
    course->at_ns = now_ns < course->at_ns ? now_ns : course->at_ns;
  }
  while (plag_asked_changes_by(&course->asked, now_ns))
    take_change(course);
  if (course->first)
    plag_course_let_go(course);
  return true;
}

void plag_course_let_go(plag_course *course) {
  course->free_pct = course->travel_pct;
  course->at_ns = course->model->trace->time_ns[course->sample];
}

double plag_course_free_pct(plag_course *course) {
  glide(course, course->model->trace->time_ns[course->sample]);
  return course->free_pct;
}
