/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A vehicle drawn from a seed: no two are alike, all are healthy; faults.h spoils one. */
#ifndef PLAG_PRACTICE_VEHICLE_H
#define PLAG_PRACTICE_VEHICLE_H

#include "practice/line.h"
#include "practice/plant.h"
#include "practice/setting.h"

/* One valve with its sensor. */
typedef struct plag_valve_parts {
  plag_plant_parts plant;
  plag_line_parts line;
} plag_valve_parts;

/* The valve of `seed`, drawn from a setting; `valve` (from 0) tells the banks of one vehicle apart:
 * they are alike, but not the same. */
void plag_vehicle_draw(const plag_setting *from, uint64_t seed, unsigned valve,
                       plag_drive_kind drive, plag_friction_law law, plag_valve_parts *out);

#endif
