/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/stiction.h"

#include <math.h>
#include <stdbool.h>

#define STILL_PCT  0.1  /* plates that are so near to where they go stand */
#define WIGGLE_PCT 0.45 /* a smaller turn of the target is no reversal (one step of 8 bits) */

static void send(plag_stiction_state *state, const plag_stiction *element, double target_pct) {
  state->extreme_pct = target_pct;
  const double output = target_pct - state->direction * element->behind_pct;
  state->output_pct = output < element->lowest_pct    ? element->lowest_pct
                      : output > element->highest_pct ? element->highest_pct
                                                      : output;
}

void plag_stiction_start(plag_stiction_state *state, const plag_stiction *element,
                         double position_pct, double target_pct, int direction, double now_s) {
  *state = (plag_stiction_state){.output_pct = position_pct,
                                 .extreme_pct = target_pct,
                                 .changed_s = now_s,
                                 .least_released_pct = INFINITY};
  if (direction == 0 || (target_pct - position_pct) * direction <= element->behind_pct)
    return;
  state->direction = direction;
  send(state, element, target_pct);
}

static void note_pull(plag_stiction_state *state, double size, double leave_pct) {
  if (size > leave_pct)
    state->least_released_pct = size < state->least_released_pct ? size : state->least_released_pct;
  else
    state->most_withstood_pct = size > state->most_withstood_pct ? size : state->most_withstood_pct;
}

/* What drives moving plates, friction taken off; below zero it brakes them. */
static double drive_pct(const plag_stiction_state *state, const plag_stiction *element,
                        double target_pct, double position_pct) {
  return (target_pct - position_pct) * state->direction - element->behind_pct;
}

static bool has_stopped(plag_stiction_state *state, const plag_stiction *element, double target_pct,
                        double now_s, double position_pct) {
  const bool rested = now_s - state->changed_s > element->rest_s;
  if (element->stop == PLAG_STOP_SHORT
          ? (state->output_pct - position_pct) * state->direction <= STILL_PCT && rested
          : rested)
    return true;
  switch (element->stop) {
  case PLAG_STOP_EACH_CHANGE:
    return true;
  case PLAG_STOP_SHORT: {
    const double drive = drive_pct(state, element, target_pct, position_pct);
    if (drive <= 0.0)
      state->output_pct = position_pct;
    return drive < -WIGGLE_PCT;
  }
  case PLAG_STOP_ON_TURN:
  case PLAG_STOPS:
    break;
  }
  return (target_pct - state->extreme_pct) * state->direction < -WIGGLE_PCT;
}

/* Of moving plates; false when the pull is that of standing ones. */
static bool move_on(plag_stiction_state *state, const plag_stiction *element, double target_pct,
                    double position_pct) {
  if (element->stop == PLAG_STOP_SHORT) {
    if (drive_pct(state, element, target_pct, position_pct) <= 0.0)
      return false;
    send(state, element, target_pct);
    return true;
  }
  const double pull = (target_pct - state->output_pct) * state->direction;
  if (pull <= 0.0)
    return false;
  if (pull > element->behind_pct)
    send(state, element, target_pct);
  return true;
}

void plag_stiction_feed(plag_stiction_state *state, const plag_stiction *element, double target_pct,
                        double now_s, double position_pct) {
  if (state->direction != 0 && has_stopped(state, element, target_pct, now_s, position_pct))
    state->direction = 0;
  state->changed_s = now_s;
  if (state->direction != 0 && move_on(state, element, target_pct, position_pct))
    return;
  const double pull = target_pct - state->output_pct;
  const double leave = element->leave_pct + 1e-9;
  note_pull(state, fabs(pull), leave);
  if (fabs(pull) <= leave)
    return;
  state->direction = pull > 0.0 ? 1 : -1;
  send(state, element, target_pct);
}
