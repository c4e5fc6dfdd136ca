/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The friction that practice's plants are made of holds a measured drive where it is published to
 * stand: an electromechanical positioning drive of 95.1089 kg with 203.5034 N s/m of viscous and
 * 20.3935 N of dry friction, an offset of -3.1648 N and 35.1507 N/V does not move between -0.670
 * and +0.490 V, a dead band of 1.160 V. Source: A. Janot, M. Gautier, M. Brunot, Data Set and
 * Reference Models of EMPS, Nonlinear System Identification Benchmarks, 2019. */
#include <math.h>

#include "practice/plant.h"
#include "support/check.h"

#define MASS        95.1089
#define VISCOUS     203.5034
#define DRY         20.3935
#define OFFSET      (-3.1648)
#define GAIN        35.1507
#define STEP_V      0.0005
#define RESISTANCE  1e-9 /* so small that the motor's own voltage brakes nothing */
#define SETTLE_STEP 60

/* The drive as a plant: no spring, no stops, metres for radians. */
static plag_plant_parts drive_of(plag_friction_law law) {
  return (plag_plant_parts){
      .drive = PLAG_DRIVE_MOTOR,
      .law = law,
      .travel_rad = 1,
      .inertia_kg_m2 = MASS,
      .spring_preload_nm = OFFSET,
      .viscous_opening_nm_s = VISCOUS,
      .viscous_closing_nm_s = VISCOUS,
      .static_nm = DRY,
      .coulomb_nm = DRY,
      .stribeck_rad_per_s = 1,
      .closed_stop = -1e6,
      .open_stop = 1e6,
      .drive_gain = 1,
      .resistance_ohm = RESISTANCE,
      .torque_constant = GAIN * RESISTANCE,
  };
}

static void hold(plag_plant *plant, double volts, int steps) {
  const plag_surroundings around = {.duty_pct = 100, .supply_v = volts, .temperature_c = 90};
  plag_plant_advance(plant, &around, (size_t)steps);
}

/* The first voltage, away from none by STEP_V each, at which it leaves. */
static double leaves_at_v(int way) {
  const plag_plant_parts parts = drive_of(PLAG_FRICTION_KARNOPP);
  plag_plant plant;
  plag_plant_start(&plant, &parts, (plag_random){0});
  const double start = plant.angle_rad;
  for (int i = 0; i < 4000; i++) {
    hold(&plant, way * i * STEP_V, SETTLE_STEP);
    if (plant.angle_rad != start)
      return way * i * STEP_V;
  }
  return NAN;
}

static void dead_band_of_a_measured_drive(void **state) {
  (void)state;
  const double up_v = leaves_at_v(1);
  const double down_v = leaves_at_v(-1);
  print_message("leaves at %.3f and %.3f V\n", down_v, up_v);
  assert_between(up_v, 0.490, 0.490 + 1.5 * STEP_V);
  assert_between(down_v, -0.670 - 1.5 * STEP_V, -0.670);
  assert_close(up_v - down_v, 1.160, 0, 3 * STEP_V);
}

/* Once it moves: the speed at which the motor's force is that of friction, both ways, and a force
 * inside the dead band that lets it come to rest and stand. */
static void speed_and_rest_of_a_measured_drive(void **state) {
  (void)state;
  static const plag_friction_law laws[] = {PLAG_FRICTION_KARNOPP, PLAG_FRICTION_LUGRE};
  for (size_t k = 0; k < 2; k++) {
    const plag_plant_parts parts = drive_of(laws[k]);
    plag_plant plant;
    plag_plant_start(&plant, &parts, (plag_random){0});
    hold(&plant, 2.31, 20000);
    assert_close(plant.speed_rad_per_s, (GAIN * 2.31 - OFFSET - DRY) / VISCOUS, 1e-4, 0);
    hold(&plant, -1.87, 20000);
    assert_close(plant.speed_rad_per_s, (GAIN * -1.87 - OFFSET + DRY) / VISCOUS, 1e-4, 0);
    hold(&plant, 0.3, 20000);
    assert_close(plant.speed_rad_per_s, 0, 0, 1e-9);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(dead_band_of_a_measured_drive),
      cmocka_unit_test(speed_and_rest_of_a_measured_drive),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
