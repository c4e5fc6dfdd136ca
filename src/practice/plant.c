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

/* What stays as it is while surroundings do, and need not be reckoned in every step. */
typedef struct bounds {
  const plag_plant_parts *parts;
  unsigned long delay;         /* steps that the duty is late */
  double goal_per_duty;        /* what drives, V or kPa, a hundred per cent duty */
  double fill_s, vent_s;       /* of the chamber, a step included */
  double cold;                 /* what friction is multiplied by at this temperature */
  double speed_per_nm;         /* that a torque gives in a step */
  double opening_loss;         /* 1 and what damping takes of the speed in a step */
  double closing_loss;         /* the same */
  double gas;                  /* what the load makes of the gas torque */
  double closed_rad, open_rad; /* the stops */
  double bristle_limit_rad;    /* that bristles bend, LuGre only */
} bounds;

/* Friction here. */
typedef struct friction {
  double at_rest_nm, moving_nm;
  double stiffness, bristle_damping; /* LuGre only */
} friction;

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

static bounds bounds_of(const plag_plant_parts *parts, const plag_surroundings *around) {
  const bool motor = parts->drive == PLAG_DRIVE_MOTOR;
  /* What the motor's own voltage adds to the viscous friction. */
  const double damping = motor ? parts->drive_gain * parts->torque_constant *
                                     parts->torque_constant / parts->resistance_ohm
                               : 0;
  const double speed_per_nm = PLAG_STEP_S / parts->inertia_kg_m2;
  return (bounds){
      .parts = parts,
      .delay = (unsigned long)(parts->dead_time_s / PLAG_STEP_S + 0.5),
      .goal_per_duty = parts->drive_gain * (motor ? around->supply_v : parts->vacuum_kpa),
      .fill_s = parts->fill_s + PLAG_STEP_S,
      .vent_s = parts->vent_s + PLAG_STEP_S,
      .cold = 1 + parts->cold_per_degree * fmax(0, WARM_C - around->temperature_c),
      .speed_per_nm = speed_per_nm,
      .opening_loss = 1 + speed_per_nm * (damping + parts->viscous_opening_nm_s),
      .closing_loss = 1 + speed_per_nm * (damping + parts->viscous_closing_nm_s),
      .gas = 0.25 + around->load,
      .closed_rad = parts->closed_stop * parts->travel_rad,
      .open_rad = parts->open_stop * parts->travel_rad,
      .bristle_limit_rad = 0.002 * parts->travel_rad,
  };
}

/* How much the carbon ridge counts at a place: 1 at its crest, falling to both sides. */
static double ridge_share(const plag_plant_parts *parts, double place) {
  if (parts->ridge_nm <= 0)
    return 0;
  const double off = (place - parts->ridge_at) / parts->ridge_half_width;
  const double fall = 1 / (1 + off * off);
  return fall * fall * fall;
}

/* Friction where the plates are. */
static friction friction_here(const bounds *now, const plag_plant *plant) {
  const plag_plant_parts *parts = now->parts;
  const double ridge = parts->ridge_nm * ridge_share(parts, plag_plant_place(plant));
  friction here = {.at_rest_nm = (parts->static_nm + ridge) * now->cold,
                   .moving_nm = (parts->coulomb_nm + 0.45 * ridge) * now->cold};
  if (parts->law == PLAG_FRICTION_LUGRE) {
    here.stiffness = fmax(here.at_rest_nm, 1e-6) / now->bristle_limit_rad;
    here.bristle_damping = 2 * 0.4 * sqrt(here.stiffness * parts->inertia_kg_m2);
  }
  return here;
}

/* The duty that left the controller a dead time ago. */
static double delay_duty(const bounds *now, plag_plant *plant, float duty_pct) {
  plant->delayed_duty[plant->step % PLAG_DELAY_STEPS] = duty_pct;
  const unsigned long from = plant->step >= now->delay ? plant->step - now->delay : 0;
  plant->step++;
  return (double)plant->delayed_duty[from % PLAG_DELAY_STEPS];
}

/* What the drive is given, V or kPa, and what a motor makes of it. */
static void ask_drive(const bounds *now, plag_plant *plant, double duty_pct) {
  const plag_plant_parts *parts = now->parts;
  plant->goal = now->goal_per_duty * duty_pct / 100;
  if (parts->drive == PLAG_DRIVE_MOTOR)
    plant->drive_nm = parts->torque_constant * plant->goal / parts->resistance_ohm;
}

static void fill_chamber(const bounds *now, plag_plant *plant) {
  const double time_s = plant->goal > plant->chamber_kpa ? now->fill_s : now->vent_s;
  plant->chamber_kpa += (plant->goal - plant->chamber_kpa) * PLAG_STEP_S / time_s;
  plant->drive_nm = now->parts->diaphragm_nm_per_kpa * plant->chamber_kpa;
}

/* Gas pulsates: noise with a memory of a few milliseconds, renewed every fourth step. */
static double gas_torque(const bounds *now, plag_plant *plant) {
  if (now->parts->gas_nm <= 0)
    return 0;
  if (plant->step % 4 == 0) {
    const double kick = plag_random_normal(&plant->gas) * now->parts->gas_nm * now->gas;
    plant->gas_now_nm = 0.75 * plant->gas_now_nm + 0.66 * kick;
  }
  return plant->gas_now_nm;
}

/* The stops: what hits one comes back with a share of its speed. */
static void meet_stops(const bounds *now, plag_plant *plant) {
  if (plant->angle_rad < now->closed_rad) {
    plant->angle_rad = now->closed_rad;
    if (plant->speed_rad_per_s < 0)
      plant->speed_rad_per_s *= -now->parts->restitution;
  } else if (plant->angle_rad > now->open_rad) {
    plant->angle_rad = now->open_rad;
    if (plant->speed_rad_per_s > 0)
      plant->speed_rad_per_s *= -now->parts->restitution;
  }
}

/* Karnopp: held plates leave only when the torque exceeds friction at rest; plates whose speed
 * would change its sign within a step are held if it does not. */
static void step_karnopp(const bounds *now, plag_plant *plant, double torque,
                         const friction *here) {
  const double speed = plant->speed_rad_per_s;
  if (speed == 0 && fabs(torque) <= here->at_rest_nm)
    return;
  const double way = speed != 0 ? speed : torque;
  const double slip = sliding_friction(now->parts, here->at_rest_nm, here->moving_nm, speed);
  double next = (speed + now->speed_per_nm * (torque - copysign(slip, way))) /
                (way >= 0 ? now->opening_loss : now->closing_loss);
  if (next * way <= 0)
    next = 0;
  plant->speed_rad_per_s = next;
  plant->angle_rad += next * PLAG_STEP_S;
}

/* LuGre: bristles bend before they slip; their stiffness lets held plates give by a five-hundredth
 * of the travel. */
static void step_lugre(const bounds *now, plag_plant *plant, double torque, const friction *here) {
  const double speed = plant->speed_rad_per_s;
  const double slip = sliding_friction(now->parts, here->at_rest_nm, here->moving_nm, speed);
  /* The bristle state is stepped implicitly in itself: a ridge changes its limit within steps. */
  const double before = plant->bristle_rad;
  plant->bristle_rad =
      (before + PLAG_STEP_S * speed) / (1 + PLAG_STEP_S * here->stiffness * fabs(speed) / slip);
  const double bend_rate = (plant->bristle_rad - before) / PLAG_STEP_S;
  const double held_nm = here->stiffness * plant->bristle_rad + here->bristle_damping * bend_rate;
  plant->speed_rad_per_s = (speed + now->speed_per_nm * (torque - held_nm)) /
                           (speed >= 0 ? now->opening_loss : now->closing_loss);
  plant->angle_rad += plant->speed_rad_per_s * PLAG_STEP_S;
}

void plag_plant_advance(plag_plant *plant, const plag_surroundings *around, size_t steps) {
  const plag_plant_parts *parts = &plant->parts;
  const bounds now = bounds_of(parts, around);
  const float duty_pct = (float)around->duty_pct;
  friction here = friction_here(&now, plant);
  double driven_by = NAN; /* the duty that the drive has been asked for */
  double speed = 0;       /* when the last step began */
  for (size_t step = 0; step < steps; step++) {
    const double duty = delay_duty(&now, plant, duty_pct);
    if (duty != driven_by)
      ask_drive(&now, plant, duty);
    driven_by = duty;
    if (parts->drive == PLAG_DRIVE_VACUUM)
      fill_chamber(&now, plant);
    const double torque =
        plant->drive_nm -
        (parts->spring_preload_nm + parts->spring_rate_nm_per_rad * plant->angle_rad) +
        gas_torque(&now, plant);
    if (parts->ridge_nm > 0)
      here = friction_here(&now, plant);
    speed = plant->speed_rad_per_s;
    if (parts->law == PLAG_FRICTION_KARNOPP)
      step_karnopp(&now, plant, torque, &here);
    else
      step_lugre(&now, plant, torque, &here);
    meet_stops(&now, plant);
  }
  if (parts->drive == PLAG_DRIVE_MOTOR && steps > 0)
    plant->current_a =
        (plant->goal - parts->drive_gain * parts->torque_constant * speed) / parts->resistance_ohm;
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
