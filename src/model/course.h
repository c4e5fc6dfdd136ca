/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The course free plates would take: a trace's position samples in order, each with what the
 * command asks for by then and where plates without friction would be. First order behind a dead
 * time, exact at any spacing (the input is constant between events):
 * x(t+d) = w + (x(t)-w) exp(-d/tau). */
#ifndef PLAG_MODEL_COURSE_H
#define PLAG_MODEL_COURSE_H

#include "core/exponential.h"
#include "model/asked.h"
#include "model/parts.h"

/* One number for each lag: the estimate, or a stand-in inside its limits where there is none. */
typedef struct plag_lag_point {
  double dead_time_s, tau_open_s, tau_close_s;
} plag_lag_point;

plag_lag_point plag_lag_point_of(const platelag_fit *fit);

/* exp(-dt/tau), remembered for the last dt: samples come evenly spaced more often than not. */
typedef struct plag_decay {
  double tau_s, dt_s, factor;
} plag_decay;

static inline double plag_decay_over(plag_decay *decay, double dt_s) {
  if (dt_s != decay->dt_s) {
    decay->dt_s = dt_s;
    decay->factor = plag_exp(-dt_s / decay->tau_s);
  }
  return decay->factor;
}

typedef struct plag_course {
  const plag_model *model;
  const int64_t *time_ns; /* the trace's */
  plag_lag_point lag;
  size_t segment, next_segment;
  size_t sample, end;   /* the sample now, and the first behind the segment */
  bool first;           /* of its segment */
  double dt_s;          /* since the sample before; 0 for the first */
  double travel_pct;    /* the reading */
  double target_pct;    /* what the command asks for, dead time gone by */
  double last_move_pct; /* of the target, its last change */
  plag_asked_walk asked;
  plag_decay open, close;
  double free_pct; /* where free plates were at at_ns: plag_course_free_pct */
  int64_t at_ns;
} plag_course;

void plag_course_begin(plag_course *course, const plag_model *model);

/* Puts a course at the first sample of the next segment that has one; false when there is none.
 * Only plag_course_next. */
bool plag_course_enter(plag_course *course);

/* The next change is felt: up to then plates went where they were asked before. Only
 * plag_course_next. */
void plag_course_take_change(plag_course *course);

/* Goes on to the next sample, first the first; false behind the last. At a segment's first sample
 * free plates start from the reading, and what was asked before counts as it ended. */
static inline bool plag_course_next(plag_course *course) {
  if (course->sample + 1 >= course->end)
    return plag_course_enter(course);
  const platelag_trace *trace = course->model->trace;
  const size_t sample = ++course->sample;
  const int64_t now_ns = course->time_ns[sample];
  course->first = false;
  course->dt_s = platelag_seconds(now_ns - course->time_ns[sample - 1]);
  course->travel_pct = platelag_trace_travel_pct(trace, trace->level[sample]);
  while (plag_asked_changes_by(&course->asked, now_ns))
    plag_course_take_change(course);
  return true;
}

/* Where free plates would be at this sample. Worked out when asked for: while the command stands,
 * one step is as exact as many. */
double plag_course_free_pct(plag_course *course);

/* Free plates start from this sample's reading. */
void plag_course_let_go(plag_course *course);

#endif
