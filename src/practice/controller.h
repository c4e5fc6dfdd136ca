/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The controller of a closed loop: feed-forward of the duty that a clean valve needs, and a
 * proportional and integral part on what the sensor says. */
#ifndef PLAG_PRACTICE_CONTROLLER_H
#define PLAG_PRACTICE_CONTROLLER_H

#include "practice/vehicle.h"

/* The duty for a desired place, both %, from one task to the next; `integral_pct` is the loop's
 * memory, 0 at first. `healthy` is the valve the controller believes in. */
double plag_controller_duty_pct(const plag_valve_parts *healthy, double desired_pct,
                                double reading_v, double *integral_pct);

#endif
