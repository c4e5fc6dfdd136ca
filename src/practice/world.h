/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A vehicle on the road: driver, engine, controller, and up to two valves, going on together. It
 * also watches the plates themselves, which no recorder can: when they were held, where. */
#ifndef PLAG_PRACTICE_WORLD_H
#define PLAG_PRACTICE_WORLD_H

#include <stdint.h>

#include "practice/driver.h"
#include "practice/line.h"
#include "practice/vehicle.h"

typedef enum plag_control {
  PLAG_CONTROL_DUTY,             /* the duty alone sets the place, against the spring */
  PLAG_CONTROL_TWO_LEVEL,        /* on and off */
  PLAG_CONTROL_DESIRED_AND_DUTY, /* a loop moves the duty until the position fits; both recorded */
  PLAG_CONTROL_DUTY_CLOSED_LOOP  /* the same, but the desired position is not recorded */
} plag_control;

/* Plates that stood still although they were asked elsewhere and drive and spring pulled them
 * there.
 */
typedef struct plag_held_truth {
  double from_s, to_s;
  double place;         /* share of travel */
  double command_pct;   /* at the largest pull: what the recorded command then was */
  double pull_pct;      /* the largest withstood, of travel; > 0: asked to open further */
  double mean_pull_pct; /* over the interval */
  size_t looks;         /* that the mean is of */
  bool at_stop;         /* leaning on a stop that a deposit has moved */
} plag_held_truth;

/* A pull below this is what healthy friction may leave. */
#define PLAG_HELD_PULL_PCT 4.0
/* A desired position missed by less is noise: a controller moves free plates nearer. */
#define PLAG_HELD_MISSED_PCT 1.5
#define PLAG_HELD_LEAST_S    0.5

typedef struct plag_world_valve {
  plag_valve_parts healthy; /* as built: the controller believes in it */
  plag_plant plant;
  plag_line line;
  double duty_pct;           /* what the drive gets */
  double integral_pct;       /* of the loop */
  plag_held_truth open_held; /* being watched */
  double anchor;
  plag_held_truth *held;
  size_t held_count, held_capacity;
} plag_world_valve;

enum { PLAG_MOST_VALVES = 2 };

typedef struct plag_world {
  plag_control control;
  bool by_hand; /* actuator off the manifold, the shaft turned by hand */
  plag_driver driver;
  plag_random hand;
  double hand_place, hand_from, hand_to, hand_start_s, hand_end_s;
  size_t valve_count;
  plag_world_valve valve[PLAG_MOST_VALVES];
  int64_t step; /* of PLAG_STEP_S, done */
  bool failed;  /* memory ran out */
} plag_world;

/* The world at time 0. `healthy` and `spoilt` are the parts of each valve. */
void plag_world_start(plag_world *world, const plag_setting *setting, uint64_t seed, uint64_t part,
                      plag_control control, plag_driving driving, bool by_hand, size_t valve_count,
                      const plag_valve_parts *healthy, const plag_valve_parts *spoilt);

/* Goes on until `until_s`; a time already passed does nothing. */
void plag_world_advance(plag_world *world, double until_s);

double plag_world_now_s(const plag_world *world);

/* Where the shaft of a valve is, share of travel. */
double plag_world_place(const plag_world *world, size_t valve);

/* Ends the watch: a held interval that is still open is closed. */
void plag_world_finish(plag_world *world);

void plag_world_clear(plag_world *world);

#endif
