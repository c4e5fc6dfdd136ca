/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/controller.h"

#include <math.h>

#include "practice/driver.h"

/* The supply that the feed-forward reckons with. */
#define RECKONED_SUPPLY_V 13.9
static const double proportional = 0.7;     /* % duty a % of travel */
static const double integral_per_s = 2.6;   /* % duty a % of travel and second */
static const double integral_most_pct = 45; /* wind-up ends here */

/* Duty that balances the spring of a clean valve at `desired_pct`. */
static double feed_forward_pct(const plag_plant_parts *parts, double desired_pct) {
  const double full_nm = parts->drive == PLAG_DRIVE_MOTOR
                             ? parts->torque_constant * RECKONED_SUPPLY_V / parts->resistance_ohm
                             : parts->diaphragm_nm_per_kpa * parts->vacuum_kpa;
  const double torque_nm = parts->spring_preload_nm + plag_plant_span_nm(parts) * desired_pct / 100;
  return 100 * torque_nm / full_nm;
}

double plag_controller_duty_pct(const plag_valve_parts *healthy, double desired_pct,
                                double reading_v, double *integral_pct) {
  const plag_line_parts *line = &healthy->line;
  const double actual_pct =
      fmin(100, fmax(0, 100 * (reading_v - line->closed_v) / (line->open_v - line->closed_v)));
  const double error_pct = desired_pct - actual_pct;
  const double sum_pct = *integral_pct + integral_per_s * error_pct * PLAG_TASK_S;
  *integral_pct = fmin(integral_most_pct, fmax(-integral_most_pct, sum_pct));
  const double duty =
      feed_forward_pct(&healthy->plant, desired_pct) + proportional * error_pct + *integral_pct;
  return floor(fmin(100, fmax(0, duty)) * 2.55 + 0.5) / 2.55;
}
