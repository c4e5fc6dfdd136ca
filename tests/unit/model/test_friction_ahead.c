/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plates on a drive whose pull builds up slowly: where they stand, jump and stop, by hand from the
 * exponential's closed form; and derivatives, with the lag on either side of the friction, that
 * agree with differences. */
#include <math.h>
#include <string.h>

#include "model/friction_walk.h"
#include "support/check.h"
#include "support/made_friction.h"

enum { SAMPLES = 60, EVENTS = 4, P = PLAG_FRICTION_PARAMETERS };

/* Samples a tenth of a second apart; the command steps at odd moments. */
typedef struct bench {
  plag_test_friction made;
  double predicted_pct[SAMPLES], spread_pct2[SAMPLES], derivative[SAMPLES * P];
  uint16_t movement[SAMPLES];
  plag_friction_walk walk;
} bench;

static const double event_s[EVENTS] = {0.45, 2.05, 3.21, 4.87};
static const double event_pct[EVENTS] = {80.0, 30.0, 46.0, 95.0};

static void set_up_bench(bench *b) {
  memset(b, 0, sizeof *b);
  plag_test_friction_begin(&b->made, 20.0);
  for (int i = 0; i < SAMPLES; i++)
    b->made.time_s[i] = 0.1 * i;
  memcpy(b->made.event_s, event_s, sizeof event_s);
  memcpy(b->made.event_pct, event_pct, sizeof event_pct);
  plag_test_friction_count(&b->made, SAMPLES, EVENTS);
  b->walk = (plag_friction_walk){.predicted_pct = b->predicted_pct,
                                 .spread_pct2 = b->spread_pct2,
                                 .derivative = b->derivative,
                                 .movement = b->movement};
}

static plag_friction_model plates_of(double leave_pct, double behind_pct) {
  return (plag_friction_model){.order = PLAG_LAG_AHEAD,
                               .element = {.leave_pct = leave_pct,
                                           .behind_pct = behind_pct,
                                           .rest_s = 60.0,
                                           .lowest_pct = -INFINITY,
                                           .highest_pct = INFINITY},
                               .factor = 1.0,
                               .lag = {.dead_time_s = 0.12, .tau_open_s = 0.5, .tau_close_s = 0.8}};
}

/* Where the drive is: each step felt 0.12 s later, tau 0.5 s opening and 0.8 s closing. */
static double drive_at(double at_s) {
  double drive_pct = 20.0;
  double goal_pct = 20.0;
  double since_s = 0.0;
  for (int k = 0; k <= EVENTS; k++) {
    const double until_s = k < EVENTS ? fmin(event_s[k] + 0.12, at_s) : at_s;
    const double tau_s = goal_pct > drive_pct ? 0.5 : 0.8;
    if (until_s > since_s)
      drive_pct = goal_pct + (drive_pct - goal_pct) * exp(-(until_s - since_s) / tau_s);
    if (k == EVENTS || at_s <= event_s[k] + 0.12)
      return drive_pct;
    since_s = event_s[k] + 0.12;
    goal_pct = event_pct[k];
  }
  return drive_pct;
}

/* Leaving at 15 %, 4 % behind: open from the moment at which the drive is at 35 % until the step
 * down is felt at 2.17 s; then they stand at the drive's turn less 4 %, let go where the drive is
 * 15 % below that, follow 4 % above it, and stand from 3.33 s on, where the drive turns too little
 * to move them, until the last step takes the drive 15 % above them. */
static double plates_at(double at_s) {
  const double open_stand = drive_at(2.17) - 4.0;
  const double closed_stand = drive_at(3.33) + 4.0;
  if (at_s <= 2.17)
    return drive_at(at_s) <= 35.0 ? 20.0 : drive_at(at_s) - 4.0;
  if (at_s <= 3.33)
    return drive_at(at_s) >= open_stand - 15.0 ? open_stand : drive_at(at_s) + 4.0;
  if (at_s <= 4.99 || drive_at(at_s) <= closed_stand + 15.0)
    return closed_stand;
  return drive_at(at_s) - 4.0;
}

static void plates_stand_jump_and_stop(void **state) {
  static bench b;
  (void)state;
  set_up_bench(&b);
  const plag_friction_model plates = plates_of(15.0, 4.0);
  plag_friction_walk_go(&b.made.record, &plates, &b.walk);
  for (int i = 0; i < SAMPLES; i++)
    assert_close(b.predicted_pct[i], plates_at(b.made.time_s[i]), 1e-9, 1e-9);
  /* 15 % lies between what they withstood and what released them, as far as readings tell. */
  assert_true(b.walk.cell.most_withstood_pct <= 15.0 && b.walk.cell.most_withstood_pct > 10.0);
  assert_true(b.walk.cell.least_released_pct > 15.0);
}

/* Every pull that lets go between the two that the walk tells does the same. */
static void between_withstood_and_released_all_is_alike(void **state) {
  static bench b, other;
  (void)state;
  set_up_bench(&b);
  const plag_friction_model plates = plates_of(15.0, 4.0);
  plag_friction_walk_go(&b.made.record, &plates, &b.walk);
  for (int share = 1; share < 10; share++) {
    set_up_bench(&other);
    const plag_friction_model at = plates_of(
        b.walk.cell.most_withstood_pct +
            0.1 * share * (b.walk.cell.least_released_pct - b.walk.cell.most_withstood_pct),
        4.0);
    plag_friction_walk_go(&other.made.record, &at, &other.walk);
    for (int i = 0; i < SAMPLES; i++)
      assert_close(other.predicted_pct[i], b.predicted_pct[i], 1e-12, 1e-12);
  }
}

static void stops_hold_plates_and_drive_goes_on(void **state) {
  static bench b;
  (void)state;
  set_up_bench(&b);
  plag_friction_model plates = plates_of(15.0, 4.0);
  plates.element.highest_pct = 60.0;
  plag_friction_walk_go(&b.made.record, &plates, &b.walk);
  double highest = 0.0;
  for (int i = 0; i < SAMPLES; i++)
    highest = fmax(highest, b.predicted_pct[i]);
  assert_close(highest, 60.0, 0, 0);
  /* At 2.17 s the drive stands at 77.9 %; the plates leave the stop once it is below 45 %. */
  for (int i = 22; i < SAMPLES && b.made.time_s[i] <= 3.33; i++)
    assert_close(b.predicted_pct[i],
                 drive_at(b.made.time_s[i]) >= 45.0 ? 60.0 : drive_at(b.made.time_s[i]) + 4.0, 1e-9,
                 0);
}

static void move(plag_friction_model *plates, int parameter, double by) {
  switch (parameter) {
  case PLAG_BY_BEHIND:
    plates->element.behind_pct += by;
    break;
  case PLAG_BY_OFFSET:
    plates->offset_pct += by;
    break;
  case PLAG_BY_FACTOR:
    plates->factor += by;
    break;
  case PLAG_BY_DEAD_TIME:
    plates->lag.dead_time_s += by;
    break;
  case PLAG_BY_LOG_TAU_OPEN:
    plates->lag.tau_open_s *= exp(by);
    break;
  default:
    plates->lag.tau_close_s *= exp(by);
  }
}

static void hold_against_differences(plag_lag_order order) {
  static bench b, up, down;
  const double step = 1e-6;
  set_up_bench(&b);
  plag_friction_model plates = plates_of(15.0, 4.0);
  plates.order = order;
  plag_friction_walk_derive(&b.made.record, &plates, &b.walk);
  assert_true(b.walk.cell.most_withstood_pct < 15.0 && b.walk.cell.least_released_pct > 15.0);
  for (int k = 0; k < P; k++) {
    plag_friction_model above = plates;
    plag_friction_model below = plates;
    move(&above, k, step);
    move(&below, k, -step);
    set_up_bench(&up);
    set_up_bench(&down);
    plag_friction_walk_go(&up.made.record, &above, &up.walk);
    plag_friction_walk_go(&down.made.record, &below, &down.walk);
    for (int i = 0; i < SAMPLES; i++)
      assert_close(b.derivative[i * P + k],
                   (up.predicted_pct[i] - down.predicted_pct[i]) / (2.0 * step), 1e-5, 1e-5);
    /* A pull that grows while the plates stand is told without what the dead time does to it. */
    if (order == PLAG_LAG_AHEAD && k == PLAG_BY_DEAD_TIME)
      continue;
    assert_close(b.walk.withstood_by[k],
                 (up.walk.cell.most_withstood_pct - down.walk.cell.most_withstood_pct) /
                     (2.0 * step),
                 1e-5, 1e-5);
    assert_close(b.walk.released_by[k],
                 (up.walk.cell.least_released_pct - down.walk.cell.least_released_pct) /
                     (2.0 * step),
                 1e-5, 1e-5);
  }
}

static void derivatives_are_those_of_differences(void **state) {
  (void)state;
  hold_against_differences(PLAG_LAG_AHEAD);
  hold_against_differences(PLAG_LAG_BEHIND);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(plates_stand_jump_and_stop),
      cmocka_unit_test(between_withstood_and_released_all_is_alike),
      cmocka_unit_test(stops_hold_plates_and_drive_goes_on),
      cmocka_unit_test(derivatives_are_those_of_differences),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
