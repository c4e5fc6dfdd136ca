/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/plant.h"

#include <assert.h>
#include <math.h>

enum { WARM_C = 90 };

void plag_plant_start(plag_plant *plant, const plag_plant_parts *parts, plag_random gas) {
  *plant = (plag_plant){.parts = *parts, .gas = gas};
  plant->angle_rad = fmax(0, parts->closed_stop) * parts->travel_rad;
  assert(parts->dead_time_s < (PLAG_DELAY_STEPS - 1) * PLAG_STEP_S);
}

double plag_plant_place(const plag_plant *plant) {
  return plant->angle_rad / plant->parts.travel_rad;
}

double plag_plant_span_nm(const plag_plant_parts *parts) {
  return parts->spring_rate_nm_per_rad * parts->travel_rad;
}

/* How much the carbon ridge counts at a place: 1 at its crest, falling to both sides. */
static double ridge_share(const plag_plant_parts *parts, double place) {
  if (parts->ridge_nm <= 0)
    return 0;
  const double off = (place - parts->ridge_at) / parts->ridge_half_width;
  const double fall = 1 / (1 + off * off);
  return fall * fall * fall;
}

/* Friction at rest and in motion, here and at this temperature. */
static void friction_here(const plag_plant *plant, double temperature_c, double *at_rest,
                          double *moving) {
  const plag_plant_parts *parts = &plant->parts;
  const double ridge = parts->ridge_nm * ridge_share(parts, plag_plant_place(plant));
  const double cold = 1 + parts->cold_per_degree * fmax(0, WARM_C - temperature_c);
  *at_rest = (parts->static_nm + ridge) * cold;
  *moving = (parts->coulomb_nm + 0.45 * ridge) * cold;
}

/* Stribeck: friction falls from rest to motion. The rational form needs no exp (Hess and Soom, ASME
 * J. Tribology 112 (1990) 147-152). */
static double sliding_friction(const plag_plant_parts *parts, double at_rest, double moving,
                               double speed) {
  const double ratio = speed / parts->stribeck_rad_per_s;
  return moving + (at_rest - moving) / (1 + ratio * ratio);
}

static double viscous(const plag_plant_parts *parts, double speed) {
  return speed >= 0 ? parts->viscous_opening_nm_s : parts->viscous_closing_nm_s;
}

/* The duty that left the controller a dead time ago. */
static double delay_duty(plag_plant *plant, double duty_pct) {
  const unsigned long delay = (unsigned long)(plant->parts.dead_time_s / PLAG_STEP_S + 0.5);
  plant->delayed_duty[plant->step % PLAG_DELAY_STEPS] = (float)duty_pct;
  const unsigned long from = plant->step >= delay ? plant->step - delay : 0;
  plant->step++;
  return (double)plant->delayed_duty[from % PLAG_DELAY_STEPS];
}

/* Torque of the drive; `*damping` is what the motor's own voltage adds to the viscous friction. */
static double drive_torque(plag_plant *plant, double duty_pct, double supply_v, double *damping) {
  const plag_plant_parts *parts = &plant->parts;
  if (parts->drive == PLAG_DRIVE_MOTOR) {
    const double volts = parts->drive_gain * supply_v * duty_pct / 100;
    *damping =
        parts->drive_gain * parts->torque_constant * parts->torque_constant / parts->resistance_ohm;
    plant->current_a =
        (volts - parts->drive_gain * parts->torque_constant * plant->speed_rad_per_s) /
        parts->resistance_ohm;
    return parts->torque_constant * volts / parts->resistance_ohm;
  }
  const double goal = parts->drive_gain * parts->vacuum_kpa * duty_pct / 100;
  const double time = goal > plant->chamber_kpa ? parts->fill_s : parts->vent_s;
  plant->chamber_kpa += (goal - plant->chamber_kpa) * PLAG_STEP_S / (time + PLAG_STEP_S);
  *damping = 0;
  return parts->diaphragm_nm_per_kpa * plant->chamber_kpa;
}

/* Gas pulsates: noise with a memory of a few milliseconds, renewed every fourth step. */
static double gas_torque(plag_plant *plant, double load) {
  if (plant->parts.gas_nm <= 0)
    return 0;
  if (plant->step % 4 == 0) {
    const double kick = plag_random_normal(&plant->gas) * plant->parts.gas_nm * (0.25 + load);
    plant->gas_now_nm = 0.75 * plant->gas_now_nm + 0.66 * kick;
  }
  return plant->gas_now_nm;
}

/* The stops: what hits one comes back with a share of its speed. */
static void meet_stops(plag_plant *plant) {
  const double low = plant->parts.closed_stop * plant->parts.travel_rad;
  const double high = plant->parts.open_stop * plant->parts.travel_rad;
  if (plant->angle_rad < low) {
    plant->angle_rad = low;
    if (plant->speed_rad_per_s < 0)
      plant->speed_rad_per_s *= -plant->parts.restitution;
  } else if (plant->angle_rad > high) {
    plant->angle_rad = high;
    if (plant->speed_rad_per_s > 0)
      plant->speed_rad_per_s *= -plant->parts.restitution;
  }
}

/* Karnopp: held plates leave only when the torque exceeds friction at rest; plates whose speed
 * would change its sign within a step are held if it does not. */
static void step_karnopp(plag_plant *plant, double torque, double damping, double at_rest,
                         double moving) {
  const plag_plant_parts *parts = &plant->parts;
  const double speed = plant->speed_rad_per_s;
  if (speed == 0 && fabs(torque) <= at_rest)
    return;
  const double way = speed != 0 ? speed : torque;
  const double friction = copysign(sliding_friction(parts, at_rest, moving, speed), way);
  const double loss = damping + viscous(parts, way);
  double next = (speed + PLAG_STEP_S / parts->inertia_kg_m2 * (torque - friction)) /
                (1 + PLAG_STEP_S / parts->inertia_kg_m2 * loss);
  if (next * way <= 0)
    next = 0;
  plant->speed_rad_per_s = next;
  plant->angle_rad += next * PLAG_STEP_S;
}

/* LuGre: bristles bend before they slip; their stiffness lets held plates give by a five-hundredth
 * of the travel. */
static void step_lugre(plag_plant *plant, double torque, double damping, double at_rest,
                       double moving) {
  const plag_plant_parts *parts = &plant->parts;
  const double stiffness = fmax(at_rest, 1e-6) / (0.002 * parts->travel_rad);
  const double bristle_damping = 2 * 0.4 * sqrt(stiffness * parts->inertia_kg_m2);
  const double speed = plant->speed_rad_per_s;
  const double slip = sliding_friction(parts, at_rest, moving, speed);
  /* The bristle state is stepped implicitly in itself: a ridge changes its limit within steps. */
  const double before = plant->bristle_rad;
  plant->bristle_rad =
      (before + PLAG_STEP_S * speed) / (1 + PLAG_STEP_S * stiffness * fabs(speed) / slip);
  const double bend_rate = (plant->bristle_rad - before) / PLAG_STEP_S;
  const double friction = stiffness * plant->bristle_rad + bristle_damping * bend_rate;
  const double loss = damping + viscous(parts, speed);
  plant->speed_rad_per_s = (speed + PLAG_STEP_S / parts->inertia_kg_m2 * (torque - friction)) /
                           (1 + PLAG_STEP_S / parts->inertia_kg_m2 * loss);
  plant->angle_rad += plant->speed_rad_per_s * PLAG_STEP_S;
}

void plag_plant_step(plag_plant *plant, const plag_surroundings *surroundings) {
  const plag_plant_parts *parts = &plant->parts;
  double damping = 0;
  const double duty = delay_duty(plant, surroundings->duty_pct);
  double torque = drive_torque(plant, duty, surroundings->supply_v, &damping);
  plant->drive_nm = torque;
  torque -= parts->spring_preload_nm + parts->spring_rate_nm_per_rad * plant->angle_rad;
  torque += gas_torque(plant, surroundings->load);
  double at_rest = 0, moving = 0;
  friction_here(plant, surroundings->temperature_c, &at_rest, &moving);
  if (parts->law == PLAG_FRICTION_KARNOPP)
    step_karnopp(plant, torque, damping, at_rest, moving);
  else
    step_lugre(plant, torque, damping, at_rest, moving);
  meet_stops(plant);
}

double plag_plant_pull_pct(const plag_plant *plant) {
  const plag_plant_parts *parts = &plant->parts;
  const double spring_nm =
      parts->spring_preload_nm + parts->spring_rate_nm_per_rad * plant->angle_rad;
  return 100 * (plant->drive_nm - spring_nm) / plag_plant_span_nm(parts);
}

static double place_of_duty(const plag_plant_parts *parts, double duty_pct, double supply_v) {
  const double torque =
      parts->drive == PLAG_DRIVE_MOTOR
          ? parts->torque_constant * supply_v * duty_pct / 100 / parts->resistance_ohm
          : parts->diaphragm_nm_per_kpa * parts->vacuum_kpa * duty_pct / 100;
  return (torque - parts->spring_preload_nm) / plag_plant_span_nm(parts);
}

double plag_plant_asked_place(const plag_plant_parts *parts, double duty_pct, double supply_v) {
  return fmin(1, fmax(0, place_of_duty(parts, duty_pct, supply_v)));
}

double plag_plant_rest_place(const plag_plant_parts *parts, double duty_pct, double supply_v) {
  const double place = place_of_duty(parts, parts->drive_gain * duty_pct, supply_v);
  return fmin(parts->open_stop, fmax(parts->closed_stop, place));
}

void plag_plant_friction_pct(const plag_plant_parts *parts, double *leave_pct, double *rest_pct) {
  /* Plates come to rest where no speed is left that friction and damping together allow: at the
   * least of their sum over speed. */
  const double motor = parts->drive == PLAG_DRIVE_MOTOR
                           ? parts->torque_constant * parts->torque_constant / parts->resistance_ohm
                           : 0;
  double least = parts->static_nm;
  for (int index = 1; index <= 400; index++) {
    const double speed = parts->stribeck_rad_per_s * index / 20;
    const double sum = sliding_friction(parts, parts->static_nm, parts->coulomb_nm, speed) +
                       (motor + viscous(parts, speed)) * speed;
    least = fmin(least, sum);
  }
  *leave_pct = 100 * parts->static_nm / plag_plant_span_nm(parts);
  *rest_pct = 100 * least / plag_plant_span_nm(parts);
}
