/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The physics of one valve: a shaft with plates, a spring that pulls it to the closed stop, a drive
 * that pulls it open, friction, stops. Nothing here is shared with src/model, on purpose: what the
 * model recovers from these captures it did not put in.
 *
 * Places on the travel are shares: 0 the closed stop, 1 the open stop of a clean valve. */
#ifndef PLAG_PRACTICE_PLANT_H
#define PLAG_PRACTICE_PLANT_H

#include <stdbool.h>
#include <stddef.h>

#include "practice/random.h"

typedef enum plag_drive_kind {
  PLAG_DRIVE_MOTOR, /* a geared direct-current motor, driven by a switched supply */
  PLAG_DRIVE_VACUUM /* a diaphragm behind a switched vacuum valve */
} plag_drive_kind;

typedef enum plag_friction_law {
  PLAG_FRICTION_KARNOPP, /* Karnopp, ASME J. Dyn. Syst. Meas. Control 107 (1985) 100-103 */
  PLAG_FRICTION_LUGRE    /* Canudas de Wit, Olsson, Astrom, Lischinsky, IEEE TAC 40 (1995) 419 */
} plag_friction_law;

/* What the valve is made of, SI units. Values of the healthy valve: order of magnitude of small
 * geared flap actuators, common practice, no source. */
typedef struct plag_plant_parts {
  plag_drive_kind drive;
  plag_friction_law law;
  double travel_rad; /* closed stop to open stop of the clean valve */
  double inertia_kg_m2;
  double spring_preload_nm;      /* at the closed stop */
  double spring_rate_nm_per_rad; /* beyond it */
  double viscous_opening_nm_s;   /* bearing and gear, N m s/rad */
  double viscous_closing_nm_s;
  double static_nm;  /* dry friction at rest, warm */
  double coulomb_nm; /* dry friction in motion, warm */
  double stribeck_rad_per_s;
  double ridge_at; /* share of travel where carbon has built a ridge */
  double ridge_half_width;
  double ridge_nm;               /* what it adds to the friction at its crest */
  double cold_per_degree;        /* share that friction gains per degC below 90 */
  double closed_stop, open_stop; /* shares of travel; deposits move them */
  double restitution;
  double dead_time_s; /* controller and driver, up to 0.25 */
  double drive_gain;  /* 1; 0: not driven */
  double resistance_ohm;
  double torque_constant; /* at the shaft, N m/A = V s/rad */
  double vacuum_kpa;      /* full suction */
  double diaphragm_nm_per_kpa;
  double fill_s, vent_s; /* time constants of the chamber */
  double gas_nm;         /* sd of the torque of pulsating gas at full load */
} plag_plant_parts;

enum { PLAG_DELAY_STEPS = 512 };
#define PLAG_STEP_S 0.0005
/* The controller's task, and all that is not mechanics, runs once in so many steps. */
enum { PLAG_STEPS_A_TASK = 20 };
#define PLAG_TASK_S (PLAG_STEPS_A_TASK * PLAG_STEP_S)

typedef struct plag_plant {
  plag_plant_parts parts;
  double angle_rad, speed_rad_per_s;
  double bristle_rad; /* LuGre only */
  double chamber_kpa; /* vacuum drive only */
  double current_a;   /* motor only */
  double gas_now_nm;
  double goal;     /* what the drive is given: V, or kPa that the chamber goes to */
  double drive_nm; /* what the drive gives now */
  unsigned long step;
  float delayed_duty[PLAG_DELAY_STEPS];
  plag_random gas;
} plag_plant;

/* What acts on the valve. */
typedef struct plag_surroundings {
  double duty_pct;
  double supply_v;
  double temperature_c;
  double load; /* 0..1, of the engine; scales the gas torque */
} plag_surroundings;

/* At rest at the closed stop, undriven. */
void plag_plant_start(plag_plant *plant, const plag_plant_parts *parts, plag_random gas);

/* Goes on by so many PLAG_STEP_S, in which the surroundings stay as they are. */
void plag_plant_advance(plag_plant *plant, const plag_surroundings *around, size_t steps);

/* Where the plates are, share of travel. */
double plag_plant_place(const plag_plant *plant);

/* Where clean, friction-free, driven plates would rest under a steady duty, 0..1. */
double plag_plant_asked_place(const plag_plant_parts *parts, double duty_pct, double supply_v);

/* Where these plates, as they are driven and stopped, would rest under a steady duty but for
 * friction. */
double plag_plant_rest_place(const plag_plant_parts *parts, double duty_pct, double supply_v);

/* How far friction-free plates would go on from here under the torque of drive and spring now, % of
 * travel; stops are not looked at. */
double plag_plant_pull_pct(const plag_plant *plant);

/* Dry friction away from any ridge, warm, as the pull (% of travel) that a held plate needs to
 * leave and the pull that is left where it comes to rest. */
void plag_plant_friction_pct(const plag_plant_parts *parts, double *leave_pct, double *rest_pct);

/* The torque that changes the resting place by the whole travel. */
double plag_plant_span_nm(const plag_plant_parts *parts);

#endif
