/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/world.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "core/array.h"
#include "practice/controller.h"

/* Plates count as held while they stay within this share of travel of where they came to rest. */
static const double still_within = 0.004;

void plag_world_start(plag_world *world, const plag_setting *setting, uint64_t seed, uint64_t part,
                      plag_control control, plag_driving driving, bool by_hand, size_t valve_count,
                      const plag_valve_parts *healthy, const plag_valve_parts *spoilt) {
  assert(valve_count >= 1 && valve_count <= PLAG_MOST_VALVES);
  *world = (plag_world){.control = control, .by_hand = by_hand, .valve_count = valve_count};
  plag_driver_start(&world->driver, setting, driving, control == PLAG_CONTROL_TWO_LEVEL,
                    plag_random_start(seed, PLAG_STREAM_DRIVER, part));
  world->hand = plag_random_start(seed, PLAG_STREAM_DRIVER, part + 64);
  for (size_t index = 0; index < valve_count; index++) {
    plag_world_valve *valve = &world->valve[index];
    const uint64_t own = part * PLAG_MOST_VALVES + index;
    valve->healthy = healthy[index];
    plag_plant_start(&valve->plant, &spoilt[index].plant,
                     plag_random_start(seed, PLAG_STREAM_GAS, own));
    plag_line_start(&valve->line, &spoilt[index].line,
                    plag_random_start(seed, PLAG_STREAM_LINE, own));
    valve->anchor = plag_plant_place(&valve->plant);
  }
}

double plag_world_now_s(const plag_world *world) {
  return (double)world->step * PLAG_STEP_S;
}

/* --- the hand -------------------------------------------------------------------------------- */

/* Off the manifold nothing limits the shaft but the sensor's own stops. */
static double place_of_volts(const plag_line_parts *line, double volts) {
  return (volts - line->closed_v) / (line->open_v - line->closed_v);
}

static void move_hand(plag_world *world, double now_s) {
  const plag_line_parts *line = &world->valve[0].healthy.line;
  if (now_s >= world->hand_end_s) {
    const double low = place_of_volts(line, 0.30), high = place_of_volts(line, 4.88);
    world->hand_from = world->hand_end_s == 0 ? 0 : world->hand_to;
    world->hand_to = world->hand_to == high ? low : high;
    world->hand_start_s = now_s + plag_random_between(&world->hand, 0.3, 1.1);
    world->hand_end_s = world->hand_start_s + plag_random_between(&world->hand, 2.4, 5.2);
  }
  const double whole = world->hand_end_s - world->hand_start_s;
  const double share = fmin(1, fmax(0, (now_s - world->hand_start_s) / whole));
  const double smooth = share * share * (3 - 2 * share);
  world->hand_place = world->hand_from + (world->hand_to - world->hand_from) * smooth;
}

double plag_world_place(const plag_world *world, size_t valve) {
  return world->by_hand ? world->hand_place : plag_plant_place(&world->valve[valve].plant);
}

/* --- the watch ------------------------------------------------------------------------------- */

static void close_held(plag_world *world, plag_world_valve *valve, double now_s) {
  plag_held_truth held = valve->open_held;
  valve->open_held = (plag_held_truth){0};
  if (held.pull_pct == 0 || now_s - held.from_s < PLAG_HELD_LEAST_S)
    return;
  held.to_s = now_s;
  if (!plag_array_reserve((void **)&valve->held, &valve->held_capacity, valve->held_count + 1,
                          sizeof *valve->held))
    world->failed = true;
  else
    valve->held[valve->held_count++] = held;
}

static bool closed_loop(const plag_world *world) {
  return world->control >= PLAG_CONTROL_DESIRED_AND_DUTY;
}

/* Does the place lie on a stop that a clean valve has elsewhere, with the pull into it? */
static bool leans_on_deposit(const plag_plant_parts *parts, double place, double pull_pct) {
  return (pull_pct < 0 && parts->closed_stop > 0 && place < parts->closed_stop + still_within) ||
         (pull_pct > 0 && parts->open_stop < 1 && place > parts->open_stop - still_within);
}

static void watch_valve(plag_world *world, plag_world_valve *valve, double now_s) {
  const double place = plag_plant_place(&valve->plant);
  const bool desired = world->control == PLAG_CONTROL_DESIRED_AND_DUTY;
  /* The command is what the recorder shows: where it shows the duty alone, a loop's too. */
  const double asked_pct = desired ? plag_driver_asked_pct(&world->driver) : valve->duty_pct;
  const double asked =
      desired ? asked_pct / 100
              : plag_plant_asked_place(&valve->healthy.plant, asked_pct, world->driver.battery_v);
  const double pull_pct = 100 * (asked - place);
  /* Asked for, and already pulled by drive and spring: the drive's own lag is no holding. */
  const double torque_pct = plag_plant_pull_pct(&valve->plant);
  const bool pulled = fabs(pull_pct) >= (desired ? PLAG_HELD_MISSED_PCT : PLAG_HELD_PULL_PCT) &&
                      torque_pct * copysign(1, pull_pct) >= PLAG_HELD_PULL_PCT;
  const bool turned = pull_pct * valve->open_held.pull_pct < 0;
  if (fabs(place - valve->anchor) > still_within || !pulled || turned) {
    close_held(world, valve, now_s);
    valve->anchor = place;
    return;
  }
  plag_held_truth *held = &valve->open_held;
  if (held->pull_pct == 0)
    *held = (plag_held_truth){.from_s = now_s, .place = place};
  /* What the plates withstand is the lesser: a step asks at once, drive and spring follow. A
   * controller has the drive ask for more than is missed. */
  const double withstood_pct =
      desired ? torque_pct : copysign(fmin(fabs(pull_pct), fabs(torque_pct)), pull_pct);
  held->looks++;
  held->mean_pull_pct += (withstood_pct - held->mean_pull_pct) / (double)held->looks;
  if (fabs(withstood_pct) > fabs(held->pull_pct)) {
    held->pull_pct = withstood_pct;
    held->command_pct = asked_pct;
    held->at_stop = leans_on_deposit(&valve->plant.parts, place, pull_pct);
  }
}

void plag_world_finish(plag_world *world) {
  for (size_t index = 0; index < world->valve_count; index++)
    close_held(world, &world->valve[index], plag_world_now_s(world));
}

void plag_world_clear(plag_world *world) {
  for (size_t index = 0; index < world->valve_count; index++)
    free(world->valve[index].held);
  *world = (plag_world){0};
}

/* --- going on -------------------------------------------------------------------------------- */

static void run_task(plag_world *world) {
  const double now_s = plag_world_now_s(world);
  plag_driver_advance(&world->driver, now_s, plag_world_place(world, 0));
  const double asked_pct = plag_driver_asked_pct(&world->driver);
  if (world->by_hand)
    move_hand(world, now_s);
  for (size_t index = 0; index < world->valve_count; index++) {
    plag_world_valve *valve = &world->valve[index];
    valve->duty_pct = asked_pct;
    if (closed_loop(world))
      valve->duty_pct = plag_controller_duty_pct(
          &valve->healthy, asked_pct,
          plag_line_read_v(&valve->line, plag_world_place(world, index), now_s),
          &valve->integral_pct);
    if (!world->by_hand)
      watch_valve(world, valve, now_s);
  }
}

static void advance_plants(plag_world *world, int64_t steps) {
  for (size_t index = 0; index < world->valve_count; index++) {
    plag_world_valve *valve = &world->valve[index];
    const plag_surroundings around = {.duty_pct = valve->duty_pct,
                                      .supply_v = world->driver.battery_v,
                                      .temperature_c = world->driver.coolant_c,
                                      .load = world->driver.load};
    plag_plant_advance(&valve->plant, &around, (size_t)steps);
  }
}

void plag_world_advance(plag_world *world, double until_s) {
  const int64_t last = (int64_t)floor(until_s / PLAG_STEP_S + 0.5);
  while (world->step < last) {
    const int64_t into_task = world->step % PLAG_STEPS_A_TASK;
    if (into_task == 0)
      run_task(world);
    int64_t steps = PLAG_STEPS_A_TASK - into_task;
    if (steps > last - world->step)
      steps = last - world->step;
    if (!world->by_hand)
      advance_plants(world, steps);
    world->step += steps;
  }
}
