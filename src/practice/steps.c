/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/steps.h"

#include <math.h>
#include <stdbool.h>

#include "practice/controller.h"

/* Longer than any fault takes: six time constants of the slowest. */
#define SETTLE_S 13.0
static const double share_done = 0.63212055882855768; /* 1 - exp(-1) */

typedef struct bench {
  const plag_valve_parts *healthy;
  plag_control control;
  plag_plant plant;
  double duty_pct, integral_pct;
} bench;

/* The controller's task. */
static void run_task(bench *b, double command_pct) {
  const plag_line_parts *line = &b->healthy->line;
  const double reading_v =
      line->closed_v + (line->open_v - line->closed_v) * plag_plant_place(&b->plant);
  b->duty_pct = b->control >= PLAG_CONTROL_DESIRED_AND_DUTY
                    ? plag_controller_duty_pct(b->healthy, command_pct, reading_v, &b->integral_pct)
                    : command_pct;
}

static void go_on(bench *b, size_t steps) {
  const plag_surroundings around = {
      .duty_pct = b->duty_pct, .supply_v = 13.9, .temperature_c = 90, .load = 0};
  plag_plant_advance(&b->plant, &around, steps);
}

/* Does `b` stand as `before`, to the last bit? */
static bool stands_still(const bench *b, const bench *before) {
  return b->plant.angle_rad == before->plant.angle_rad &&
         b->plant.speed_rad_per_s == before->plant.speed_rad_per_s &&
         b->plant.bristle_rad == before->plant.bristle_rad &&
         b->plant.chamber_kpa == before->plant.chamber_kpa && b->duty_pct == before->duty_pct &&
         b->integral_pct == before->integral_pct;
}

/* Goes on for SETTLE_S, or until nothing can change any more: nothing did for longer than a duty
 * takes to arrive. */
static void settle(bench *b, double command_pct) {
  int still = 0;
  for (int task = 0; task * PLAG_TASK_S < SETTLE_S && still * PLAG_STEPS_A_TASK <= PLAG_DELAY_STEPS;
       task++) {
    const bench before = *b;
    run_task(b, command_pct);
    go_on(b, PLAG_STEPS_A_TASK);
    still = stands_still(b, &before) ? still + 1 : 0;
  }
}

/* t63 of the step to `command_pct`; afterwards `b` rests there. */
static double step_to(bench *b, double command_pct) {
  bench again = *b;
  const double from = plag_plant_place(&b->plant);
  settle(b, command_pct);
  const double whole = plag_plant_place(&b->plant) - from;
  if (fabs(whole) < 0.02)
    return NAN;
  unsigned long step = 0;
  double done = 0;
  while (done < share_done && (double)step * PLAG_STEP_S < SETTLE_S) {
    if (step++ % PLAG_STEPS_A_TASK == 0)
      run_task(&again, command_pct);
    go_on(&again, 1);
    done = (plag_plant_place(&again.plant) - from) / whole;
  }
  return (double)step * PLAG_STEP_S;
}

plag_step_truth plag_step_measure(const plag_valve_parts *healthy, const plag_valve_parts *spoilt,
                                  plag_control control, double low_pct, double high_pct) {
  bench b = {.healthy = healthy, .control = control};
  plag_plant_parts parts = spoilt->plant;
  parts.gas_nm = 0;
  plag_plant_start(&b.plant, &parts, (plag_random){0});
  settle(&b, low_pct);
  plag_step_truth truth = {.low_pct = low_pct, .high_pct = high_pct};
  truth.opening_t63_s = step_to(&b, high_pct);
  truth.closing_t63_s = step_to(&b, low_pct);
  return truth;
}
