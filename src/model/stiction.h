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

/* Plates at `position_pct` that move in `direction`, or stand (0) whatever pulls them. */
void plag_stiction_start(plag_stiction_state *state, const plag_stiction *element,
                         double position_pct, double target_pct, int direction, double now_s);

/* The target changes; `position_pct` is where the plates are by then, on their way to the output.
 */
void plag_stiction_feed(plag_stiction_state *state, const plag_stiction *element, double target_pct,
                        double now_s, double position_pct);

#endif
