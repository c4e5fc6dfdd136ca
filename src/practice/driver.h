/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The driver, the engine and what the controller then asks of the valve. */
#ifndef PLAG_PRACTICE_DRIVER_H
#define PLAG_PRACTICE_DRIVER_H

#include "practice/plant.h"
#include "practice/setting.h"

/* What a drive asks for. */
typedef enum plag_driving {
  PLAG_DRIVING_MIXED,  /* town, overtaking, overrun, idle: the whole travel is visited */
  PLAG_DRIVING_IDLE,   /* stands and idles: the valve is hardly asked to move */
  PLAG_DRIVING_GENTLE, /* town, overrun, idle: the open stop is never asked for */
  PLAG_DRIVING_OFF     /* key on, engine off */
} plag_driving;

typedef struct plag_driver {
  const plag_setting *setting;
  plag_driving driving;
  bool two_level; /* the command is 0 or 100 */
  plag_random random;
  int phase;
  double phase_end_s, next_move_s;
  double asked_pct;                /* the command now: duty or desired position */
  double goal_pct, ramp_pct_per_s; /* 0: steps only */
  int steps_off;                   /* of the grid, that what leaves the controller is off */

  double speed_rpm, load, throttle_pct, pressure_kpa, coolant_c, battery_v;
} plag_driver;

void plag_driver_start(plag_driver *driver, const plag_setting *setting, plag_driving driving,
                       bool two_level, plag_random random);

/* Goes on to `now_s`, PLAG_TASK_S later than before. `place` of the plates acts on the manifold
 * pressure a little. */
void plag_driver_advance(plag_driver *driver, double now_s, double place);

/* What the controller asks of the valve, % on its grid of 100/255. */
double plag_driver_asked_pct(const plag_driver *driver);

#endif
