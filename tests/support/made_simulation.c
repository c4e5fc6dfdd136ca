/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The reference simulation of made traces: exact between events, nothing stepped. */
#include "support/check.h"

#include "support/made_random.h"
#include "support/made_trace.h"

#include <math.h>
#include <stdlib.h>

typedef struct target {
  double from_s; /* when the plates begin to feel it: step and dead time */
  double pct;
} target;

static double or_default(double value, double other) {
  return value != 0.0 ? value : other;
}

static double asked_pct(const plag_test_plant *plant, double command) {
  const bool given = plant->command_closed != plant->command_open;
  const double closed = given ? plant->command_closed : 0.0;
  const double open = given ? plant->command_open : 100.0;
  const double pct = 100.0 * (command - closed) / (open - closed);
  return fmin(fmax(pct, plant->travel_lowest), or_default(plant->travel_highest, 100.0));
}

/* Stopped plates leave when the pull exceeds fS and land fD short of what is asked, on command
 * changes only: Choudhury, Thornhill, Shah, Control Eng. Practice 13 (2005) 641-658. Those that
 * move keep fD behind; when they have stopped is what the published models differ in. */
static void find_targets(const plag_test_plant *plant, const plag_test_step *step, size_t count,
                         target *out) {
  const double leave_pct = 0.5 * (plant->stick_band_pct + plant->slip_jump_pct);
  const double land_pct = 0.5 * (plant->stick_band_pct - plant->slip_jump_pct);
  double asked = asked_pct(plant, step[0].command);
  double resting_pct = asked;
  double way = 0.0; /* of plates that move */
  for (size_t i = 0; i < count; i++) {
    const double before = asked;
    asked = asked_pct(plant, step[i].command);
    if (i == 0 || !(step[i].at_s - step[i - 1].at_s < plant->rest_s) ||
        (asked - before) * way < 0.0)
      way = 0.0;
    const double pull_pct = asked - resting_pct;
    if (fabs(pull_pct) > leave_pct)
      way = copysign(1.0, pull_pct);
    if (way != 0.0 && (fabs(pull_pct) > leave_pct || pull_pct * way > land_pct))
      resting_pct = asked - way * land_pct;
    out[i] = (target){.from_s = step[i].at_s + plant->dead_time_s, .pct = resting_pct};
  }
}

static double approach(const plag_test_plant *plant, double at_pct, double target_pct, double s) {
  const double tau_s = target_pct > at_pct ? plant->tau_open_s : plant->tau_close_s;
  return tau_s > 0.0 ? target_pct + (at_pct - target_pct) * exp(-s / tau_s) : target_pct;
}

typedef struct course {
  const target *target;
  size_t count;
  size_t next; /* the first target not yet felt */
  double at_s;
  double pct;
  double goal_pct;
} course;

static double travel_at(const plag_test_plant *plant, course *plates, double at_s) {
  while (plates->next < plates->count && plates->target[plates->next].from_s <= at_s) {
    const target *felt = &plates->target[plates->next++];
    plates->pct = approach(plant, plates->pct, plates->goal_pct, felt->from_s - plates->at_s);
    plates->at_s = felt->from_s;
    plates->goal_pct = felt->pct;
  }
  plates->pct = approach(plant, plates->pct, plates->goal_pct, at_s - plates->at_s);
  plates->at_s = at_s;
  return plates->pct;
}

/* Row stamps: random phase, the time between rows jittered, never backwards. */
static size_t make_rows(const plag_test_plant *plant, plag_test_random *random, double *at_s,
                        size_t most) {
  const double period_s = 1.0 / plant->rows_per_second;
  double now_s = plag_test_random_uniform(random, 0.0, period_s);
  size_t count = 0;
  for (; count < most && now_s < plant->duration_s; count++) {
    at_s[count] = now_s;
    const double jitter = plant->jitter_share * plag_test_random_normal(random);
    now_s += period_s * fmax(0.1, 1.0 + jitter);
  }
  return count;
}

/* Moves each step to the next row's stamp. */
static void put_on_rows(plag_test_step *step, size_t count, const double *at_s, size_t rows) {
  size_t row = 0;
  for (size_t i = 0; i < count; i++) {
    while (row + 1 < rows && at_s[row] < step[i].at_s)
      row++;
    step[i].at_s = at_s[row];
  }
}

platelag_trace *plag_test_trace_simulate(const plag_test_plant *plant, const plag_test_step *step,
                                         size_t count) {
  assert_true(count > 0);
  plag_test_random random = {plant->seed};
  const size_t most = (size_t)(plant->duration_s * plant->rows_per_second * 1.5) + 16;
  double *at_s = calloc(most, sizeof *at_s);
  double *command = malloc(most * sizeof *command);
  double *level = malloc(most * sizeof *level);
  plag_test_step *moved = malloc(count * sizeof *moved);
  target *targets = malloc(count * sizeof *targets);
  assert_true(at_s && command && level && moved && targets);

  const size_t rows = make_rows(plant, &random, at_s, most);
  assert_true(rows > 0);
  for (size_t i = 0; i < count; i++)
    moved[i] = step[i];
  if (plant->command_on_rows)
    put_on_rows(moved, count, at_s, rows);
  find_targets(plant, moved, count, targets);

  const bool given = plant->closed_level != plant->open_level;
  const double closed = given ? plant->closed_level : 1.20;
  const double open = given ? plant->open_level : 3.75;
  course state = {.target = targets, .count = count, .pct = targets[0].pct};
  state.goal_pct = state.pct;
  size_t set = 0;
  for (size_t row = 0; row < rows; row++) {
    while (set + 1 < count && moved[set + 1].at_s <= at_s[row])
      set++;
    command[row] = moved[set].command;
    const double pct = travel_at(plant, &state, at_s[row] + plant->skew_s) +
                       plant->noise_pct * plag_test_random_normal(&random);
    level[row] = closed + (open - closed) * pct / 100.0;
    if (plant->quantum > 0.0)
      level[row] = plant->quantum * round(level[row] / plant->quantum);
  }
  platelag_trace *trace = plag_test_trace_make(&(plag_test_samples){
      .command_count = rows,
      .command_time_s = at_s,
      .command = command,
      .position_count = rows,
      .position_time_s = at_s,
      .level = level,
      .unit = plant->unit,
      .closed_level = closed,
      .open_level = open,
      .row_period_s = 1.0 / plant->rows_per_second,
      .condition = plant->condition,
  });
  free(at_s);
  free(command);
  free(level);
  free(moved);
  free(targets);
  return trace;
}
