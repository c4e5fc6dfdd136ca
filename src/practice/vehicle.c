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

static double draw(plag_random *random, plag_range range) {
  return plag_random_between(random, range.low, range.high);
}

static void fit_friction(plag_plant_parts *parts, const plag_setting *from, plag_random *random) {
  const double span_nm = plag_plant_span_nm(parts);
  parts->static_nm = span_nm * draw(random, from->static_share);
  parts->coulomb_nm = parts->static_nm * draw(random, from->coulomb_share);
  parts->stribeck_rad_per_s = from->stribeck_share * parts->travel_rad;
}

static void draw_motor(plag_plant_parts *parts, const plag_setting *from, plag_random *random) {
  parts->resistance_ohm = draw(random, from->resistance_ohm);
  const double full_nm = draw(random, from->motor_nm);
  parts->torque_constant = full_nm * parts->resistance_ohm / NOMINAL_SUPPLY_V;
  const double low = draw(random, from->motor_low);
  const double high = draw(random, from->motor_high);
  fit_spring(parts, full_nm, low, high);
  parts->inertia_kg_m2 = draw(random, from->motor_inertia);
  /* Spring rate times the time constant that is wanted, less what the motor's own voltage damps. */
  const double motor_nm_s = parts->torque_constant * parts->torque_constant / parts->resistance_ohm;
  const double lag_s = draw(random, from->motor_lag_s);
  const double unlike = draw(random, from->motor_unlike);
  parts->viscous_opening_nm_s = parts->spring_rate_nm_per_rad * lag_s - motor_nm_s;
  parts->viscous_closing_nm_s = parts->spring_rate_nm_per_rad * lag_s * unlike - motor_nm_s;
  parts->dead_time_s = draw(random, from->motor_dead_s);
}

static void draw_vacuum(plag_plant_parts *parts, const plag_setting *from, plag_random *random) {
  parts->vacuum_kpa = draw(random, from->vacuum_kpa);
  const double full_nm = draw(random, from->vacuum_nm);
  parts->diaphragm_nm_per_kpa = full_nm / parts->vacuum_kpa;
  const double low = draw(random, from->vacuum_low);
  const double high = draw(random, from->vacuum_high);
  fit_spring(parts, full_nm, low, high);
  parts->inertia_kg_m2 = draw(random, from->vacuum_inertia);
  const double lag_s = draw(random, from->vacuum_lag_s);
  parts->viscous_opening_nm_s = parts->spring_rate_nm_per_rad * lag_s;
  parts->viscous_closing_nm_s = parts->viscous_opening_nm_s;
  parts->fill_s = draw(random, from->fill_s);
  parts->vent_s = parts->fill_s * draw(random, from->vent_share);
  parts->dead_time_s = draw(random, from->vacuum_dead_s);
}

static void draw_line(plag_line_parts *line, const plag_setting *from, plag_random *random) {
  *line = plag_line_healthy();
  line->closed_v = draw(random, from->closed_v);
  line->open_v = draw(random, from->open_v);
  line->noise_v = draw(random, from->noise_v);
  line->converter_bits = from->converter_bits[plag_random_below(random, PLAG_CONVERTERS)];
  line->dropout_low_chance = from->dropout_low_chance;
  line->dropout_high_low = from->dropout_high.low;
  line->dropout_high_most = from->dropout_high.high;
  line->worn_low_chance = from->worn_low_chance;
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

void plag_vehicle_draw(const plag_setting *from, uint64_t seed, unsigned valve,
                       plag_drive_kind drive, plag_friction_law law, plag_valve_parts *out) {
  plag_random random = plag_random_start(seed, PLAG_STREAM_VEHICLE, (uint64_t)drive);
  *out = (plag_valve_parts){0};
  plag_plant_parts *plant = &out->plant;
  plant->drive = drive;
  plant->law = law;
  plant->travel_rad = draw(&random, from->travel_rad);
  plant->open_stop = 1;
  plant->restitution = from->restitution;
  plant->drive_gain = 1;
  plant->cold_per_degree = 0.002;
  if (drive == PLAG_DRIVE_MOTOR)
    draw_motor(plant, from, &random);
  else
    draw_vacuum(plant, from, &random);
  fit_friction(plant, from, &random);
  plant->gas_nm = plag_plant_span_nm(plant) * draw(&random, from->gas_share);
  draw_line(&out->line, from, &random);
  if (valve > 0) {
    plag_random own = plag_random_start(seed, PLAG_STREAM_VEHICLE, 16 + valve);
    draw_tolerances(out, &own);
  }
}
