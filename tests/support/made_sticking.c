/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_sticking.h"

#include <math.h>
#include <stdlib.h>

#include "support/check.h"
#include "support/made_trace.h"

#define STEP_S 0.001
#define LATE   4096 /* steps that the dead time may take */
#define STILL  0.04 /* % of travel of drive left: plates this slow have come to a stand */

/* A driver: holds, steps and ramps to random levels. */
typedef struct driver {
  plag_test_random *random;
  double command, goal, rate; /* rate 0: steps */
  double hold_s, ramp_share;
} driver;

static double drive(driver *d) {
  if (d->command != d->goal) {
    const double way = d->goal - d->command;
    d->command = d->rate > 0.0 && fabs(way) > d->rate * STEP_S
                     ? d->command + copysign(d->rate * STEP_S, way)
                     : d->goal;
    return d->command;
  }
  d->hold_s -= STEP_S;
  if (d->hold_s <= 0.0) {
    d->goal = plag_test_random_uniform(d->random, 2.0, 98.0);
    const bool ramp = plag_test_random_uniform(d->random, 0.0, 1.0) < d->ramp_share;
    d->rate = ramp ? plag_test_random_uniform(d->random, 4.0, 30.0) : 0.0;
    d->hold_s = plag_test_random_uniform(d->random, 0.8, 6.0);
  }
  return d->command;
}

typedef struct plates {
  double position_pct;
  int direction; /* 0: standing */
} plates;

static void move(plates *state, const plag_test_sticking *p, double target_pct) {
  const bool rubs =
      p->ridge_half_pct == 0.0 || fabs(state->position_pct - p->ridge_at_pct) <= p->ridge_half_pct;
  const double breakaway = rubs ? p->breakaway_pct : 0.0;
  const double sliding = rubs ? p->sliding_pct : 0.0;
  const double pull = target_pct - state->position_pct;
  if (state->direction == 0) {
    if (fabs(pull) <= breakaway)
      return;
    state->direction = pull > 0.0 ? 1 : -1;
  }
  const double drive_pct = pull - state->direction * sliding;
  if (drive_pct * state->direction <= STILL)
    state->direction = 0;
  else
    state->position_pct += drive_pct * STEP_S / p->tau_s;
}

/* The spell of standing under pull that is open. */
typedef struct spell {
  bool open;
  plag_test_stood stood;
} spell;

platelag_trace *plag_test_sticking_make(const plag_test_sticking *p, double least_pull_pct,
                                        double least_s, plag_test_stood *stood, size_t room,
                                        size_t *count) {
  plag_test_random random = {p->seed};
  const size_t most = (size_t)(p->duration_s * p->rows_per_second * 1.3) + 16;
  double *time_s = malloc(most * sizeof *time_s);
  double *command = malloc(most * sizeof *command);
  double *level = malloc(most * sizeof *level);
  double *asked = calloc(LATE, sizeof *asked);
  assert_true(time_s && command && level && asked);
  driver wheel = {&random, 50.0, 50.0, 0.0, 2.0, p->ramp_share};
  plates state = {50.0, 0};
  const size_t late = (size_t)(p->dead_time_s / STEP_S);
  assert_true(late < LATE);
  for (size_t k = 0; k < LATE; k++)
    asked[k] = 50.0;
  size_t rows = 0;
  double next_row_s = plag_test_random_uniform(&random, 0.0, 1.0 / p->rows_per_second);
  spell now = {0};
  *count = 0;
  for (size_t k = 0; (double)k * STEP_S < p->duration_s; k++) {
    const double at_s = (double)k * STEP_S;
    asked[k % LATE] = drive(&wheel);
    const double target = asked[(k + LATE - late) % LATE];
    move(&state, p, target);
    const bool pulled = state.direction == 0 && fabs(target - state.position_pct) > least_pull_pct;
    if (pulled && !now.open)
      now = (spell){true, {at_s, at_s, state.position_pct}};
    if (!pulled && now.open) {
      now.open = false;
      now.stood.to_s = at_s;
      if (at_s - now.stood.from_s >= least_s && *count < room)
        stood[(*count)++] = now.stood;
    }
    if (at_s < next_row_s || rows == most)
      continue;
    const double read = state.position_pct + p->noise_pct * plag_test_random_normal(&random);
    time_s[rows] = at_s;
    command[rows] = wheel.command;
    level[rows++] = 0.0049 * round((1.13 + 0.0262 * read) / 0.0049);
    next_row_s += (1.0 + 0.04 * plag_test_random_normal(&random)) / p->rows_per_second;
  }
  platelag_trace *trace = plag_test_trace_make(&(plag_test_samples){
      .command_count = rows,
      .command_time_s = time_s,
      .command = command,
      .position_count = rows,
      .position_time_s = time_s,
      .level = level,
      .closed_level = 1.13,
      .open_level = 3.75,
      .row_period_s = 1.0 / p->rows_per_second,
      .scale = PLATELAG_SCALE_SPEC,
  });
  free(time_s);
  free(command);
  free(level);
  free(asked);
  return trace;
}
