/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The two-parameter stiction element: where dry friction lets plates stand while the command moves
 * on. Dead time and lag come after it.
 *
 * One rule reproduces the published models (Choudhury, Thornhill, Shah, Control Eng. Practice 13
 * (2005) 641-658; Kano et al., DYCOPS 2004; He, Wang, Pottmann, Qin, Ind. Eng. Chem. Res. 46 (2007)
 * 4549): stopped plates leave when |r - x| exceeds fS and land d fD behind the target, d the
 * direction; moving plates stay d fD behind it. Stick band S = fS + fD, slip jump J = fS - fD. The
 * models differ in what counts as a stop. */
#ifndef PLAG_MODEL_STICTION_H
#define PLAG_MODEL_STICTION_H

#include <math.h>
#include <stdbool.h>

/* A pull that exceeds the one that lets go by less does not: rounding. */
#define PLAG_STICTION_HAIR_PCT   1e-9
#define PLAG_STICTION_STILL_PCT  0.1  /* plates that are so near to where they go stand */
#define PLAG_STICTION_WIGGLE_PCT 0.45 /* a smaller turn of the target is no reversal (8 bits) */

/* When moving plates stop; each of them also stops when the command has rested. */
typedef enum plag_stiction_stop {
  PLAG_STOP_ON_TURN,     /* when the command turns (Choudhury, Kano) */
  PLAG_STOP_EACH_CHANGE, /* at each change of the command (He, Stenman) */
  PLAG_STOP_SHORT,       /* where they are, once what drives them is no more than friction: plates
                            with damping and no mass */
  PLAG_STOPS
} plag_stiction_stop;

typedef struct plag_stiction {
  double leave_pct;  /* fS */
  double behind_pct; /* fD; negative: beyond the target */
  plag_stiction_stop stop;
  double rest_s;                  /* a target that stood this long has let the plates stop */
  double lowest_pct, highest_pct; /* where the travel ends, whatever is asked */
} plag_stiction;

/* The element's state; `output_pct` is where it sends the plates. */
typedef struct plag_stiction_state {
  double output_pct;
  int direction; /* 0 stopped */
  double extreme_pct, changed_s;
  /* Pulls on plates that stood or were to turn. Every element that lets go between these two, and
   * is the same otherwise, does the same. */
  double most_withstood_pct, least_released_pct;
} plag_stiction_state;

static inline void plag_stiction_send(plag_stiction_state *state, const plag_stiction *element,
                                      double target_pct) {
  state->extreme_pct = target_pct;
  const double output = target_pct - state->direction * element->behind_pct;
  state->output_pct = output < element->lowest_pct    ? element->lowest_pct
                      : output > element->highest_pct ? element->highest_pct
                                                      : output;
}

/* Plates at `position_pct` that move in `direction`, or stand (0) whatever pulls them. */
static inline void plag_stiction_start(plag_stiction_state *state, const plag_stiction *element,
                                       double position_pct, double target_pct, int direction,
                                       double now_s) {
  *state = (plag_stiction_state){.output_pct = position_pct,
                                 .extreme_pct = target_pct,
                                 .changed_s = now_s,
                                 .least_released_pct = INFINITY};
  if (direction == 0 || (target_pct - position_pct) * direction <= element->behind_pct)
    return;
  state->direction = direction;
  plag_stiction_send(state, element, target_pct);
}

static inline void plag_stiction_note_pull(plag_stiction_state *state, double size,
                                           double leave_pct) {
  if (size > leave_pct)
    state->least_released_pct = size < state->least_released_pct ? size : state->least_released_pct;
  else
    state->most_withstood_pct = size > state->most_withstood_pct ? size : state->most_withstood_pct;
}

/* What drives moving plates, friction taken off; below zero it brakes them. */
static inline double plag_stiction_drive_pct(const plag_stiction_state *state,
                                             const plag_stiction *element, double target_pct,
                                             double position_pct) {
  return (target_pct - position_pct) * state->direction - element->behind_pct;
}

static inline bool plag_stiction_has_stopped(plag_stiction_state *state,
                                             const plag_stiction *element, double target_pct,
                                             double now_s, double position_pct) {
  const bool rested = now_s - state->changed_s > element->rest_s;
  if (element->stop == PLAG_STOP_SHORT
          ? (state->output_pct - position_pct) * state->direction <= PLAG_STICTION_STILL_PCT &&
                rested
          : rested)
    return true;
  switch (element->stop) {
  case PLAG_STOP_EACH_CHANGE:
    return true;
  case PLAG_STOP_SHORT: {
    const double drive = plag_stiction_drive_pct(state, element, target_pct, position_pct);
    if (drive <= 0.0)
      state->output_pct = position_pct;
    return drive < -PLAG_STICTION_WIGGLE_PCT;
  }
  case PLAG_STOP_ON_TURN:
  case PLAG_STOPS:
    break;
  }
  return (target_pct - state->extreme_pct) * state->direction < -PLAG_STICTION_WIGGLE_PCT;
}

/* Of moving plates; false when the pull is that of standing ones. */
static inline bool plag_stiction_move_on(plag_stiction_state *state, const plag_stiction *element,
                                         double target_pct, double position_pct) {
  if (element->stop == PLAG_STOP_SHORT) {
    if (plag_stiction_drive_pct(state, element, target_pct, position_pct) <= 0.0)
      return false;
    plag_stiction_send(state, element, target_pct);
    return true;
  }
  const double pull = (target_pct - state->output_pct) * state->direction;
  if (pull <= 0.0)
    return false;
  if (pull > element->behind_pct)
    plag_stiction_send(state, element, target_pct);
  return true;
}

/* The target changes; `position_pct` is where the plates are by then, on their way to the output.
 */
static inline void plag_stiction_feed(plag_stiction_state *state, const plag_stiction *element,
                                      double target_pct, double now_s, double position_pct) {
  if (state->direction != 0 &&
      plag_stiction_has_stopped(state, element, target_pct, now_s, position_pct))
    state->direction = 0;
  state->changed_s = now_s;
  if (state->direction != 0 && plag_stiction_move_on(state, element, target_pct, position_pct))
    return;
  const double pull = target_pct - state->output_pct;
  const double leave = element->leave_pct + PLAG_STICTION_HAIR_PCT;
  plag_stiction_note_pull(state, fabs(pull), leave);
  if (fabs(pull) <= leave)
    return;
  state->direction = pull > 0.0 ? 1 : -1;
  plag_stiction_send(state, element, target_pct);
}

#endif
