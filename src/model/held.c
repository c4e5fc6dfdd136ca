/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Held intervals. Readings are cut into stretches in which the plates stand. From the start of each
 * stretch free plates are let go by simulation with the fitted response: the stretch is held from
 * where they would have moved away by more than the least pull, if it lasts longer than the
 * sampling and the response explain. What ends it, and where the plates land, is its release. */
#include "model/held.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "core/lesser.h"
#include "model/course.h"
#include "model/held_basis.h"
#include "model/noise.h"
#include "model/pull.h"

#define LEAST_PULL_SHARE     0.7  /* of the stick band that the spec allows */
#define LEAST_HELD_S         0.35 /* shorter ones are lag that varies */
#define LEAST_HELD_EFFORT_S  0.5  /* a controller's lag varies more, ... */
#define LEAST_HELD_DESIRED_S 0.8  /* ... and most where its duty does not explain it */
#define LEAST_UPDATES        2.1  /* nor shorter than this many of either channel's updates, ... */
#define LEAST_OF_RESPONSE    1.0  /* ... nor than the response takes, ... */
#define LEAST_OF_LOOP        2.0  /* ... twice where a slow loop turns round */
#define STILL_NOISES         4.5
#define LEAST_BAND_PCT       0.6
#define JUMP_PCT             3.0
#define CAME_SAMPLES         2 /* pulled so soon after they came, they came to be pulled */
#define COMMAND_LATELY_S     1.0

/* Plates that stand. */
typedef struct stand {
  double anchor_pct; /* mean of its first readings */
  int anchored;      /* how many */
  int strikes;       /* readings outside the band, one after the other */
  double start_target_pct;
  size_t first_sample;
  double came_pct;    /* from the reading before to the first */
  size_t last_sample; /* that lay in the band */
  bool pulled;        /* free plates would be gone */
  size_t pulled_from; /* sample */
  bool cut_off;       /* every reading since is the end of the scale */
  double most_pull_pct;
  double last_target_pct, last_pull_pct;
  double most_effort_pct, last_effort_pct; /* the same by effort */
} stand;

/* A release whose landing is still to be read. */
typedef struct release {
  bool open;
  size_t index; /* of the held interval */
  int64_t at_ns;
  double target_pct;
} release;

typedef struct search {
  plag_model *model;
  plag_course course;
  double band_pct, least_pull_pct, least_s, landing_s;
  plag_pull pull;
  stand now;
  release released;
  platelag_held *held; /* heap */
  size_t count, capacity;
  double last_pct; /* the valid reading before */
  bool only_list;  /* into `held` as given, `capacity` at most */
  double pulled_s, held_s;
  bool out_of_memory;
} search;

double plag_held_least_pull_pct(const plag_model *model) {
  return plag_greater(LEAST_PULL_SHARE * model->spec->stick_band_limit_pct, 5.0 * model->noise_pct);
}

double plag_held_band_pct(const plag_model *model) {
  return plag_greater(plag_greater(STILL_NOISES * model->noise_pct, LEAST_BAND_PCT),
                      1.05 * plag_quantum_pct(model->trace));
}

static void begin_stand(search *s) {
  plag_course *course = &s->course;
  const double came_pct = course->first ? 0.0 : course->travel_pct - s->last_pct;
  s->now = (stand){
      .anchor_pct = course->travel_pct,
      .anchored = 1,
      .first_sample = course->sample,
      .came_pct = came_pct,
      .start_target_pct = course->target_pct,
      .last_sample = course->sample,
      .last_target_pct = course->target_pct,
  };
  plag_course_let_go(course);
}

static void mark(search *s, const platelag_held *held) {
  const double bin = plag_lesser(plag_greater(held->position_pct / 5.0, 0.0), 19.0);
  const double lasted_s = platelag_seconds(held->to_ns - held->from_ns);
  s->model->fit->held_profile_pct[(int)bin] += lasted_s;
  s->held_s += lasted_s;
  for (size_t i = s->now.pulled_from; i <= s->now.last_sample; i++)
    if (!platelag_mode_is_void((platelag_mode)s->model->mode[i]))
      s->model->mode[i] = PLATELAG_MODE_HELD;
}

/* A controller that tells % open cuts off what lies beyond 0 and 100: a lost signal reads exactly
 * so, and plates that stand there have their noise. */
static bool is_cut_off(const platelag_trace *trace, size_t sample) {
  return trace->level_unit == PLATELAG_LEVEL_PCT_OPEN &&
         (trace->level[sample] <= 0.0 || trace->level[sample] >= 100.0);
}

/* Ends the pulled part of a stand; it counts when it was long enough. */
static void end_pull(search *s, bool moved) {
  const platelag_trace *trace = s->model->trace;
  stand *now = &s->now;
  if (!now->pulled)
    return;
  now->pulled = false;
  const int64_t from_ns = trace->time_ns[now->pulled_from];
  const int64_t to_ns = trace->time_ns[now->last_sample];
  if (now->cut_off || now->last_sample < now->pulled_from ||
      platelag_seconds(to_ns - from_ns) < s->least_s)
    return;
  if (s->only_list
          ? s->count == s->capacity
          : !plag_array_reserve((void **)&s->held, &s->capacity, s->count + 1, sizeof s->held[0])) {
    s->out_of_memory = !s->only_list;
    return;
  }
  s->held[s->count] = (platelag_held){
      .from_ns = from_ns,
      .to_ns = to_ns,
      .position_pct = now->anchor_pct,
      .command_pct = now->last_target_pct,
      .pull_pct = now->most_pull_pct,
      .effort_pull_pct = now->most_effort_pct,
      .entry_jump_pct = now->pulled_from <= now->first_sample + CAME_SAMPLES ? now->came_pct : 0.0,
      .release_jump_pct = moved ? NAN : 0.0,
  };
  if (!s->only_list)
    mark(s, &s->held[s->count]);
  if (moved)
    s->released = (release){true, s->count, to_ns, now->last_target_pct};
  s->count++;
}

/* Where the plates land once they let go: what they moved beyond what the command did meanwhile. */
static void read_landing(search *s) {
  const plag_course *course = &s->course;
  const platelag_trace *trace = s->model->trace;
  release *released = &s->released;
  if (!released->open ||
      platelag_seconds(trace->time_ns[course->sample] - released->at_ns) < s->landing_s)
    return;
  platelag_held *held = &s->held[released->index];
  double jump = course->travel_pct - held->position_pct;
  const double asked = course->target_pct - released->target_pct;
  if (asked * held->pull_pct > 0.0 && fabs(asked) < fabs(jump))
    jump -= asked;
  held->release_jump_pct = jump;
  released->open = false;
}

static void stand_on(search *s) {
  stand *now = &s->now;
  if (now->anchored < 3) {
    now->anchored++;
    now->anchor_pct += (s->course.travel_pct - now->anchor_pct) / now->anchored;
  }
  now->strikes = 0;
  const plag_pulled look = plag_pull_look(&s->pull, &s->course, now->anchor_pct,
                                          now->start_target_pct, s->least_pull_pct);
  const double pull = look.asked_pct;
  if (now->pulled && (!look.held || pull * now->most_pull_pct < 0.0))
    end_pull(s, false);
  now->last_sample = s->course.sample;
  now->last_target_pct = s->course.target_pct;
  if (!look.held)
    return;
  if (!now->pulled) {
    now->pulled = now->cut_off = true;
    now->pulled_from = s->course.sample;
    now->most_pull_pct = copysign(plag_lesser(s->least_pull_pct, fabs(pull)), pull);
    now->most_effort_pct = now->last_effort_pct = NAN;
  }
  now->cut_off = now->cut_off && is_cut_off(s->model->trace, s->course.sample);
  /* A pull counts once it was withstood: what let the plates go is not what held them. */
  const double withstood = copysign(plag_lesser(fabs(pull), fabs(now->last_pull_pct)), pull);
  if (fabs(withstood) > fabs(now->most_pull_pct))
    now->most_pull_pct = withstood;
  now->last_pull_pct = pull;
  const double effort = look.effort_pct;
  const double borne = fabs(effort) < fabs(now->last_effort_pct) ? effort : now->last_effort_pct;
  if (!(fabs(borne) <= fabs(now->most_effort_pct)))
    now->most_effort_pct = borne;
  now->last_effort_pct = effort;
}

static void take_sample(search *s) {
  plag_course *course = &s->course;
  if (course->first) {
    end_pull(s, true);
    s->released.open = false;
    begin_stand(s);
    return;
  }
  read_landing(s);
  if (s->now.pulled || fabs(course->target_pct - course->travel_pct) > s->least_pull_pct)
    s->pulled_s += plag_lesser(course->dt_s, 5.0 * s->model->trace->position_refresh_s);
  if (fabs(course->travel_pct - s->now.anchor_pct) <= s->band_pct) {
    stand_on(s);
    return;
  }
  /* One reading outside may be noise; a second one is movement. */
  if (s->now.anchored >= 3 && s->now.strikes == 0 &&
      fabs(course->travel_pct - s->now.anchor_pct) <= 2.0 * s->band_pct) {
    s->now.strikes = 1;
    return;
  }
  end_pull(s, true);
  begin_stand(s);
}

/* Void readings interrupt a stand without ending it: the plates may still be where they were. */
static void search_all(search *s) {
  plag_course_begin(&s->course, s->model);
  bool fresh = true;
  while (plag_course_next(&s->course) && !s->out_of_memory) {
    plag_pull_advance(&s->pull, &s->course);
    fresh = fresh || s->course.first;
    if (platelag_mode_is_void((platelag_mode)s->model->mode[s->course.sample]))
      continue;
    if (fresh)
      s->course.first = true;
    fresh = false;
    take_sample(s);
    s->last_pct = s->course.travel_pct;
  }
  end_pull(s, true);
}

/* Jumps that held plates make when let go, for the test of directions. */
static void count_jumps(plag_model *model) {
  platelag_fit *fit = model->fit;
  const double least = plag_greater(JUMP_PCT, 6.0 * model->noise_pct);
  size_t change = 0;
  fit->signal.jumps = fit->signal.jumps_towards = fit->signal.jumps_command_still = 0;
  for (size_t k = 0; k < fit->held_count; k++) {
    const platelag_held *held = &fit->held[k];
    if (!(fabs(held->release_jump_pct) >= least))
      continue;
    fit->signal.jumps++;
    fit->signal.jumps_towards += held->release_jump_pct * held->pull_pct > 0.0;
    while (change < model->trace->change_count &&
           platelag_trace_change_at(model->trace, change).by_ns <= held->to_ns)
      change++;
    const int64_t before_ns =
        change > 0 ? platelag_trace_change_at(model->trace, change - 1).by_ns : INT64_MIN / 2;
    fit->signal.jumps_command_still += platelag_seconds(held->to_ns - before_ns) > COMMAND_LATELY_S;
  }
}

static void forget_earlier(plag_model *model) {
  platelag_fit *fit = model->fit;
  for (size_t i = 0; i < model->trace->sample_count; i++)
    if (!platelag_mode_is_void((platelag_mode)model->mode[i]))
      model->mode[i] = PLATELAG_MODE_FOLLOWING;
  memset(fit->held_profile_pct, 0, sizeof fit->held_profile_pct);
  fit->held = NULL;
  fit->held_count = 0;
  fit->held_share = 0.0;
}

static platelag_status keep(search *s, platelag_error *error) {
  platelag_fit *fit = s->model->fit;
  if (s->out_of_memory)
    return plag_error_memory(error, "the held intervals");
  fit->held_share = s->pulled_s > 0.0 ? plag_lesser(s->held_s / s->pulled_s, 1.0) : 0.0;
  if (s->count == 0)
    return PLATELAG_OK;
  platelag_held *held = plag_arena_take_array(s->model->arena, s->count, sizeof held[0]);
  if (!held)
    return plag_error_memory(error, "the held intervals");
  memcpy(held, s->held, s->count * sizeof held[0]);
  fit->held = held;
  fit->held_count = s->count;
  return PLATELAG_OK;
}

/* Less is lag that varies, or the sampling. */
static double least_held_s(const plag_model *model, plag_pull_kind kind) {
  const platelag_trace *trace = model->trace;
  const plag_lag_point lag = plag_lag_point_of(model->fit);
  const double t63_s = lag.dead_time_s + plag_greater(lag.tau_open_s, lag.tau_close_s);
  const double least_s = kind == PLAG_PULL_BY_MAP       ? LEAST_HELD_S
                         : kind == PLAG_PULL_BY_DESIRED ? LEAST_HELD_DESIRED_S
                                                        : LEAST_HELD_EFFORT_S;
  const double refresh_s = plag_greater(
      trace->position_refresh_s, plag_greater(trace->command_period_s, trace->command_refresh_s));
  const double responses = kind == PLAG_PULL_BY_BOTH ? LEAST_OF_LOOP : LEAST_OF_RESPONSE;
  return plag_greater(plag_greater(least_s, responses * t63_s), LEAST_UPDATES * refresh_s);
}

static void make_search(plag_model *model, double least_pull_pct, search *out) {
  const plag_lag_point lag = plag_lag_point_of(model->fit);
  *out = (search){
      .model = model,
      .band_pct = plag_held_band_pct(model),
      .least_pull_pct = least_pull_pct,
      .landing_s = plag_greater(2.5 * plag_lesser(lag.tau_open_s, lag.tau_close_s),
                                1.01 * model->trace->position_refresh_s),
  };
  plag_pull_begin(&out->pull, model);
}

size_t plag_held_list(plag_model *model, double least_pull_pct, double least_s, platelag_held *held,
                      size_t room) {
  search s;
  make_search(model, least_pull_pct, &s);
  s.least_s = least_s;
  s.held = held;
  s.capacity = room;
  s.only_list = true;
  search_all(&s);
  return s.count;
}

platelag_status plag_held_find(plag_model *model, platelag_error *error) {
  if (plag_held_basis_stands(model))
    return PLATELAG_OK;
  forget_earlier(model);
  if (model->trace->command_kind == PLATELAG_COMMAND_ABSENT || model->valid_count < 2)
    return PLATELAG_OK;
  search s;
  make_search(model, plag_held_least_pull_pct(model), &s);
  s.least_s = least_held_s(model, s.pull.kind);
  search_all(&s);
  const platelag_status status = keep(&s, error);
  free(s.held);
  if (status == PLATELAG_OK)
    count_jumps(model);
  return status;
}
