/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/vehicle.h"

/* Duty at which the drive balances the spring at either stop, %, at the nominal supply: below and
 * above it the plates rest at the stops. */
#define NOMINAL_SUPPLY_V 13.9

/* A spring that the drive overcomes between `low` and `high` shares of its full torque. */
static void fit_spring(plag_plant_parts *parts, double full_nm, double low, double high) {
  parts->spring_preload_nm = full_nm * low;
  parts->spring_rate_nm_per_rad = full_nm * (high - low) / parts->travel_rad;
}

/* Healthy friction: 0.6-1.6 % of travel to leave, a little less in motion. */
static void fit_friction(plag_plant_parts *parts, plag_random *random) {
  const double span_nm = plag_plant_span_nm(parts);
  parts->static_nm = span_nm * plag_random_between(random, 0.004, 0.010);
  parts->coulomb_nm = parts->static_nm * plag_random_between(random, 0.7, 0.9);
  parts->stribeck_rad_per_s = 0.015 * parts->travel_rad;
}

static void draw_motor(plag_plant_parts *parts, plag_random *random) {
  parts->resistance_ohm = plag_random_between(random, 10, 14);
  const double full_nm = plag_random_between(random, 0.38, 0.55);
  parts->torque_constant = full_nm * parts->resistance_ohm / NOMINAL_SUPPLY_V;
  const double low = plag_random_between(random, 0.05, 0.10);
  const double high = plag_random_between(random, 0.88, 0.95);
  fit_spring(parts, full_nm, low, high);
  parts->inertia_kg_m2 = plag_random_between(random, 0.8e-4, 1.6e-4);
  /* Spring rate times the time constant that is wanted, less what the motor's own voltage damps. */
  const double motor_nm_s = parts->torque_constant * parts->torque_constant / parts->resistance_ohm;
  const double lag_s = plag_random_between(random, 0.10, 0.26);
  const double unlike = plag_random_between(random, 0.85, 1.25);
  parts->viscous_opening_nm_s = parts->spring_rate_nm_per_rad * lag_s - motor_nm_s;
  parts->viscous_closing_nm_s = parts->spring_rate_nm_per_rad * lag_s * unlike - motor_nm_s;
  parts->dead_time_s = plag_random_between(random, 0.015, 0.060);
}

static void draw_vacuum(plag_plant_parts *parts, plag_random *random) {
  parts->vacuum_kpa = plag_random_between(random, 45, 60);
  const double full_nm = plag_random_between(random, 0.45, 0.70);
  parts->diaphragm_nm_per_kpa = full_nm / parts->vacuum_kpa;
  const double low = plag_random_between(random, 0.06, 0.12);
  const double high = plag_random_between(random, 0.86, 0.94);
  fit_spring(parts, full_nm, low, high);
  parts->inertia_kg_m2 = plag_random_between(random, 0.9e-4, 1.8e-4);
  const double lag_s = plag_random_between(random, 0.015, 0.030);
  parts->viscous_opening_nm_s = parts->spring_rate_nm_per_rad * lag_s;
  parts->viscous_closing_nm_s = parts->viscous_opening_nm_s;
  parts->fill_s = plag_random_between(random, 0.12, 0.26);
  parts->vent_s = parts->fill_s * plag_random_between(random, 0.7, 1.3);
  parts->dead_time_s = plag_random_between(random, 0.025, 0.080);
}

static void draw_line(plag_line_parts *line, plag_random *random) {
  static const int bits[] = {8, 10, 10, 12};
  *line = plag_line_healthy();
  line->closed_v = plag_random_between(random, 1.05, 1.30);
  line->open_v = plag_random_between(random, 3.60, 3.95);
  line->noise_v = plag_random_between(random, 0.003, 0.010);
  line->converter_bits = bits[plag_random_below(random, 4)];
}

/* Two banks are built alike: the second has the first one's design and its own tolerances. */
static void draw_tolerances(plag_valve_parts *parts, plag_random *random) {
  const double lag = plag_random_between(random, 0.9, 1.1);
  parts->plant.viscous_opening_nm_s *= lag;
  parts->plant.viscous_closing_nm_s *= lag;
  parts->plant.static_nm *= plag_random_between(random, 0.8, 1.2);
  parts->line.closed_v += plag_random_between(random, -0.05, 0.05);
  parts->line.open_v += plag_random_between(random, -0.05, 0.05);
}

void plag_vehicle_draw(uint64_t seed, unsigned valve, plag_drive_kind drive, plag_friction_law law,
                       plag_valve_parts *out) {
  plag_random random = plag_random_start(seed, PLAG_STREAM_VEHICLE, (uint64_t)drive);
  *out = (plag_valve_parts){0};
  plag_plant_parts *plant = &out->plant;
  plant->drive = drive;
  plant->law = law;
  plant->travel_rad = plag_random_between(&random, 1.1, 1.4);
  plant->open_stop = 1;
  plant->restitution = 0.15;
  plant->drive_gain = 1;
  plant->cold_per_degree = 0.002;
  if (drive == PLAG_DRIVE_MOTOR)
    draw_motor(plant, &random);
  else
    draw_vacuum(plant, &random);
  fit_friction(plant, &random);
  plant->gas_nm = plag_plant_span_nm(plant) * plag_random_between(&random, 0.001, 0.004);
  draw_line(&out->line, &random);
  if (valve > 0) {
    plag_random own = plag_random_start(seed, PLAG_STREAM_VEHICLE, 16 + valve);
    draw_tolerances(out, &own);
  }
}
