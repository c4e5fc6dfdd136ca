/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/pull.h"

#include <math.h>

#include "core/lesser.h"

/* A desired position missed by less is noise. */
#define LEAST_MISSED_PCT 1.5
#define MISSED_NOISES    4.0
#define AT_END_PCT       4.0

void plag_pull_begin(plag_pull *pull, const plag_model *model) {
  const platelag_trace *trace = model->trace;
  const platelag_fit *fit = model->fit;
  const plag_lag_point lag = plag_lag_point_of(fit);
  *pull = (plag_pull){
      .kind =
          trace->command_kind == PLATELAG_COMMAND_DESIRED ? PLAG_PULL_BY_DESIRED : PLAG_PULL_BY_MAP,
      .lowest_pct = fit->travel.lowest_pct,
      .highest_pct = fit->travel.highest_pct,
      .asked_pct = NAN,
      .decay = {.tau_s = plag_lesser(lag.tau_open_s, lag.tau_close_s), .dt_s = -1.0},
  };
  if (!model->effort)
    return;
  if (model->effort->known)
    pull->effort = model->effort;
  if (!trace->effort)
    pull->kind = pull->effort ? PLAG_PULL_BY_EFFORT : PLAG_PULL_BY_GROWTH;
  else if (pull->effort)
    pull->kind = PLAG_PULL_BY_BOTH;
}

/* No further than the plates go at all: what is asked beyond a stop does not hold them. */
static double within_reach(const plag_pull *pull, double pct) {
  return plag_lesser(plag_greater(pct, pull->lowest_pct), pull->highest_pct);
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
  if (!pull->effort)
    return;
  const int64_t now_ns = course->model->trace->time_ns[course->sample];
  const double duty = plag_effort_duty_at(pull->effort, &pull->cursor, now_ns);
  const double asked_pct = plag_effort_asked_pct(pull->effort, duty);
  if (course->first || !isfinite(pull->asked_pct))
    pull->asked_pct = asked_pct;
  else if (isfinite(asked_pct))
    pull->asked_pct =
        asked_pct + (pull->asked_pct - asked_pct) * plag_decay_over(&pull->decay, course->dt_s);
}

/* A controller that ran on while the plates stood at a stop leaves them there until it has come
 * back; nobody sees that without its duty. */
static bool rests_at_end(const plag_pull *pull, double at_pct) {
  return at_pct <= pull->lowest_pct + AT_END_PCT || at_pct >= pull->highest_pct - AT_END_PCT;
}

static bool beyond(double pull_pct, double least_pct, double way) {
  return fabs(pull_pct) > least_pct && pull_pct * way > 0.0;
}

/* Whether free plates, let go where these stand, would be gone that way by more than `least_pct`.
 */
static bool would_be_gone(const plag_pull *pull, plag_course *course, double at_pct,
                          double pull_pct, double least_pct) {
  return beyond(way_to(pull, plag_course_free_pct(course), at_pct), least_pct, pull_pct);
}

plag_pulled plag_pull_look(const plag_pull *pull, plag_course *course, double at_pct,
                           double start_target_pct, double least_pct) {
  plag_pulled out = {.asked_pct = way_to(pull, course->target_pct, at_pct), .effort_pct = NAN};
  const double missed_pct =
      plag_greater(LEAST_MISSED_PCT, MISSED_NOISES * course->model->noise_pct);
  if (pull->effort)
    out.effort_pct = way_to(pull, pull->asked_pct, at_pct);
  switch (pull->kind) {
  case PLAG_PULL_BY_DESIRED:
  case PLAG_PULL_BY_MAP:
    out.held = fabs(out.asked_pct) > least_pct &&
               would_be_gone(pull, course, at_pct, out.asked_pct, least_pct) &&
               (pull->kind == PLAG_PULL_BY_MAP || !rests_at_end(pull, at_pct));
    break;
  case PLAG_PULL_BY_EFFORT:
    out.asked_pct = out.effort_pct;
    out.held = fabs(out.effort_pct) > least_pct;
    break;
  case PLAG_PULL_BY_BOTH:
    out.held = beyond(out.effort_pct, least_pct, out.asked_pct) &&
               fabs(out.asked_pct) > missed_pct &&
               would_be_gone(pull, course, at_pct, out.asked_pct, missed_pct);
    break;
  case PLAG_PULL_BY_GROWTH:
    out.asked_pct = course->target_pct - start_target_pct;
    out.held = fabs(out.asked_pct) > least_pct;
    break;
  }
  return out;
}
