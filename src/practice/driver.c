/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/driver.h"

#include <math.h>

/* One step of the duty as controllers count it: 100/255 %. */
static double on_grid(double pct, int steps_off) {
  return fmin(100, fmax(0, floor(fmin(100, fmax(0, pct)) * 2.55 + 0.5 + steps_off) / 2.55));
}

static bool asks_to_move(const plag_driver *driver) {
  return driver->driving == PLAG_DRIVING_MIXED || driver->driving == PLAG_DRIVING_GENTLE;
}

static void enter_phase(plag_driver *driver, double now_s) {
  plag_random *random = &driver->random;
  if (asks_to_move(driver))
    driver->phase =
        (driver->phase + 1 + (int)plag_random_below(random, PLAG_PHASES - 1)) % PLAG_PHASES;
  else
    driver->phase = PLAG_PHASE_IDLE;
  /* Who drives gently is in town wherever others would open the valve wide. */
  if (driver->driving == PLAG_DRIVING_GENTLE && driver->setting->phase[driver->phase].opens)
    driver->phase = PLAG_PHASE_TOWN;
  const plag_phase *now = &driver->setting->phase[driver->phase];
  driver->phase_end_s = now_s + plag_random_between(random, now->least_s, now->most_s);
  driver->next_move_s = now_s;
}

/* The next level asked for: mostly a step, at times a ramp, at times the level stays. */
static void choose_move(plag_driver *driver, double now_s) {
  plag_random *random = &driver->random;
  const plag_phase *now = &driver->setting->phase[driver->phase];
  const plag_setting *setting = driver->setting;
  driver->next_move_s =
      now_s + plag_random_between(random, setting->move_s.low, setting->move_s.high);
  const double level = plag_random_between(random, now->lowest_pct, now->highest_pct);
  const bool ramp = plag_random_chance(random, setting->ramp_chance);
  const double rate =
      plag_random_between(random, setting->ramp_pct_per_s.low, setting->ramp_pct_per_s.high);
  if (driver->two_level) {
    driver->goal_pct = now->opens ? 100 : 0;
    driver->ramp_pct_per_s = 0;
  } else if (asks_to_move(driver)) {
    driver->goal_pct = level;
    driver->ramp_pct_per_s = ramp ? rate : 0;
  } else {
    driver->goal_pct = driver->driving == PLAG_DRIVING_IDLE ? 6.3 : 0;
    driver->ramp_pct_per_s = 0;
  }
}

static void follow_goal(plag_driver *driver) {
  const double left = driver->goal_pct - driver->asked_pct;
  const double most = driver->ramp_pct_per_s * PLAG_TASK_S;
  /* The level kept here is the ramp's own; only what leaves the controller is on its grid. */
  driver->asked_pct += most <= 0 || fabs(left) <= most ? left : copysign(most, left);
}

static double towards(double value, double goal, double time_s) {
  return value + (goal - value) * PLAG_TASK_S / (time_s + PLAG_TASK_S);
}

static void run_engine(plag_driver *driver, double place) {
  const bool off = driver->driving == PLAG_DRIVING_OFF;
  const plag_phase *now = &driver->setting->phase[driver->phase];
  plag_random *random = &driver->random;
  const double throttle = off ? 0 : now->throttle_pct;
  driver->throttle_pct = towards(driver->throttle_pct, throttle, 0.25);
  driver->speed_rpm = towards(driver->speed_rpm, off ? 0 : now->speed_rpm, 1.4);
  driver->load = towards(driver->load, off ? 0 : 0.16 + 0.0085 * throttle, 0.3);
  /* Open plates let the cylinders breathe: a little less pressure stays in the manifold. */
  const double pressure = off ? 100.6 : 31 + 0.82 * throttle - 2.6 * place;
  driver->pressure_kpa = towards(driver->pressure_kpa, pressure, 0.15);
  driver->coolant_c = towards(driver->coolant_c, off ? driver->coolant_c : 91, 210);
  const double sag = 0.25 * driver->load + 0.02 * plag_random_normal(random);
  driver->battery_v = towards(driver->battery_v, (off ? 12.4 : 14.1) - sag, 0.5);
}

void plag_driver_start(plag_driver *driver, const plag_setting *setting, plag_driving driving,
                       bool two_level, plag_random random) {
  *driver = (plag_driver){
      .setting = setting, .driving = driving, .two_level = two_level, .random = random};
  driver->coolant_c = plag_random_between(&driver->random, 22, 75);
  driver->battery_v = driving == PLAG_DRIVING_OFF ? 12.4 : 14.0;
  driver->speed_rpm = driving == PLAG_DRIVING_OFF ? 0 : setting->phase[PLAG_PHASE_IDLE].speed_rpm;
  driver->pressure_kpa = driving == PLAG_DRIVING_OFF ? 100.6 : 33;
  driver->load = driving == PLAG_DRIVING_OFF ? 0 : 0.18;
  driver->phase = PLAG_PHASE_IDLE;
  driver->phase_end_s = plag_random_between(&driver->random, 2, 4);
  driver->next_move_s = driver->phase_end_s;
  driver->goal_pct = driving == PLAG_DRIVING_OFF || two_level ? 0 : 6.3;
  driver->asked_pct = driver->goal_pct;
}

/* A controller's duty is now and then a step of its grid off what was asked. */
static void dither(plag_driver *driver) {
  const double chance = driver->setting->dither_chance;
  if (chance > 0 && !driver->two_level && asks_to_move(driver) &&
      plag_random_chance(&driver->random, chance))
    driver->steps_off = (int)plag_random_below(&driver->random, 3) - 1;
}

void plag_driver_advance(plag_driver *driver, double now_s, double place) {
  if (now_s >= driver->phase_end_s)
    enter_phase(driver, now_s);
  if (now_s >= driver->next_move_s)
    choose_move(driver, now_s);
  follow_goal(driver);
  dither(driver);
  run_engine(driver, place);
}

double plag_driver_asked_pct(const plag_driver *driver) {
  return on_grid(driver->asked_pct, driver->steps_off);
}
