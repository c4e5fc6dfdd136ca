/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The plant obeys physics: it rests where torques balance, stays between its stops, gains no energy
 * from nothing, sticks by as much as its friction says, and is as fast as a healthy valve. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>

#include "practice/plant.h"
#include "practice/steps.h"
#include "practice/vehicle.h"

static const plag_friction_law laws[] = {PLAG_FRICTION_KARNOPP, PLAG_FRICTION_LUGRE};
static const plag_drive_kind drives[] = {PLAG_DRIVE_MOTOR, PLAG_DRIVE_VACUUM};

static plag_surroundings warm(double duty_pct) {
  return (plag_surroundings){
      .duty_pct = duty_pct, .supply_v = 13.9, .temperature_c = 90, .load = 0.43};
}

static plag_plant healthy_plant(uint64_t seed, plag_drive_kind drive, plag_friction_law law) {
  plag_valve_parts parts;
  plag_vehicle_draw(plag_setting_at(0), seed, 0, drive, law, &parts);
  plag_plant plant;
  plag_plant_start(&plant, &parts.plant, plag_random_start(seed, PLAG_STREAM_GAS, 0));
  return plant;
}

static void run(plag_plant *plant, double duty_pct, double seconds) {
  const plag_surroundings around = warm(duty_pct);
  plag_plant_advance(plant, &around, (size_t)ceil(seconds / PLAG_STEP_S));
}

static void it_rests_where_the_torques_balance(void **state) {
  (void)state;
  static const double duties[] = {0, 3.7, 23.85, 41.2, 58.9, 77.3, 100};
  for (uint64_t seed = 1; seed <= 12; seed++)
    for (size_t index = 0; index < 4; index++) {
      plag_plant plant = healthy_plant(seed, drives[index / 2], laws[index % 2]);
      double leave_pct = 0, rest_pct = 0;
      plag_plant_friction_pct(&plant.parts, &leave_pct, &rest_pct);
      for (size_t at = 0; at < sizeof duties / sizeof duties[0]; at++) {
        run(&plant, duties[at], 4);
        const double asked = plag_plant_asked_place(&plant.parts, duties[at], 13.9);
        /* Half a per cent for gas and the give of bristles. */
        assert_close(plag_plant_place(&plant), asked, 0, leave_pct / 100 + 0.005);
      }
    }
}

static void it_stays_between_its_stops(void **state) {
  (void)state;
  static const double stops[][2] = {{0, 1}, {0.185, 1}, {0, 0.735}, {0.4321, 0.4341}};
  for (size_t index = 0; index < 16; index++) {
    plag_plant plant = healthy_plant(7 + index, drives[index / 2 % 2], laws[index % 2]);
    plant.parts.closed_stop = stops[index / 4][0];
    plant.parts.open_stop = stops[index / 4][1];
    plag_plant again = plant;
    plag_plant_start(&again, &plant.parts, plant.gas);
    plag_random random = plag_random_start(31 + index, PLAG_STREAM_DRIVER, 0);
    for (int move = 0; move < 40; move++) {
      const plag_surroundings around = warm(plag_random_between(&random, 0, 100));
      for (int step = 0; step < 700; step++) {
        plag_plant_advance(&again, &around, 1);
        assert_between(plag_plant_place(&again), stops[index / 4][0] - 1e-12,
                       stops[index / 4][1] + 1e-12);
      }
    }
  }
}

/* Energy of the shaft and of the spring. */
static double energy_j(const plag_plant *plant) {
  const plag_plant_parts *parts = &plant->parts;
  const double angle = plant->angle_rad, speed = plant->speed_rad_per_s;
  return parts->inertia_kg_m2 * speed * speed / 2 + parts->spring_preload_nm * angle +
         parts->spring_rate_nm_per_rad * angle * angle / 2;
}

static void undriven_it_only_loses_energy(void **state) {
  (void)state;
  for (uint64_t seed = 1; seed <= 8; seed++)
    for (size_t index = 0; index < 2; index++) {
      plag_plant plant = healthy_plant(seed, PLAG_DRIVE_MOTOR, laws[index]);
      plant.parts.gas_nm = 0;
      plant.parts.drive_gain = 0;
      plant.angle_rad = 0.97 * plant.parts.travel_rad;
      const double at_first = energy_j(&plant);
      double before = at_first;
      const plag_surroundings around = warm(0);
      for (int step = 0; step < 4000; step++) {
        plag_plant_advance(&plant, &around, 1);
        const double now = energy_j(&plant);
        /* Bent bristles give back what they took, a ten-thousandth of the whole. */
        assert_true(now <= before + 1e-4 * at_first);
        before = fmin(before, now);
      }
      assert_close(plag_plant_place(&plant), 0, 0, 0.02);
    }
}

/* A slow triangle of the duty: after a reversal the plates must hold until the pull has turned by
 * the stick band. */
static void it_sticks_by_its_friction(void **state) {
  (void)state;
  static const double bands[][2] = {{0.095, 0.0}, {0.152, 0.047}, {0.238, 0.121}};
  for (size_t index = 0; index < 6; index++) {
    plag_plant plant = healthy_plant(5 + index, PLAG_DRIVE_MOTOR, PLAG_FRICTION_KARNOPP);
    plag_plant_parts *parts = &plant.parts;
    const double span_nm = plag_plant_span_nm(parts);
    parts->gas_nm = 0;
    parts->static_nm = span_nm * (bands[index / 2][0] + bands[index / 2][1]) / 2;
    parts->coulomb_nm = span_nm * (bands[index / 2][0] - bands[index / 2][1]) / 2;
    double leave_pct = 0, rest_pct = 0;
    plag_plant_friction_pct(parts, &leave_pct, &rest_pct);
    run(&plant, 30, 3);
    run(&plant, 60, 3);
    const double held_at = plag_plant_place(&plant);
    double duty = 60, left_at = NAN;
    for (int step = 0; duty > 15; step++) {
      const plag_surroundings around = warm(duty);
      plag_plant_advance(&plant, &around, 1);
      duty -= 0.8 * PLAG_STEP_S;
      if (isnan(left_at) && fabs(plag_plant_place(&plant) - held_at) > 0.003)
        left_at = plag_plant_asked_place(parts, duty, 13.9);
    }
    /* The ramp goes on by a few tenths while the plates leave. */
    assert_close(100 * (held_at - left_at), leave_pct, 0.02, 0.5);
    assert_close(leave_pct + rest_pct, 100 * bands[index / 2][0], 0.10, 0.3);
    const double landed = plag_plant_place(&plant);
    assert_true(held_at - landed > bands[index / 2][1]);
  }
}

static void a_healthy_valve_is_fast(void **state) {
  (void)state;
  for (uint64_t seed = 1; seed <= 40; seed++)
    for (size_t drive = 0; drive < 2; drive++) {
      plag_valve_parts parts;
      plag_vehicle_draw(plag_setting_at(0), seed, 0, drives[drive], PLAG_FRICTION_KARNOPP, &parts);
      const plag_step_truth steps = plag_step_measure(&parts, &parts, PLAG_CONTROL_DUTY, 20, 80);
      assert_between(steps.opening_t63_s, 0.08, 0.45);
      assert_between(steps.closing_t63_s, 0.08, 0.45);
      assert_true(steps.opening_t63_s > parts.plant.dead_time_s);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(it_rests_where_the_torques_balance),
      cmocka_unit_test(it_stays_between_its_stops),
      cmocka_unit_test(undriven_it_only_loses_energy),
      cmocka_unit_test(it_sticks_by_its_friction),
      cmocka_unit_test(a_healthy_valve_is_fast),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
