/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A fleet of practice captures of which some vehicles grow worse, judged into a
 * store. */
#ifndef PLATELAG_TESTS_MADE_FLEET_H
#define PLATELAG_TESTS_MADE_FLEET_H

#include <stddef.h>
#include <stdint.h>

#include "platelag/fleet.h"

/* Captures are of the second setting, on which nothing was fitted; each log is
 * another drive. */
typedef struct made_fleet_plan {
  uint64_t seed;
  size_t growing;       /* vehicles whose true stick band grows from 10..20 % of
                           travel ... */
  double growth_a_year; /* ... by this share of what it was at the first log */
  size_t steady;        /* vehicles without change: half healthy, half with a band that
                           stays */
  size_t logs;          /* of each vehicle, at uneven times within a year */
  double minutes;       /* of each log */
  const char *command;  /* of all of them; NULL: three in ten record a desired
                           position and a duty */
} made_fleet_plan;

/* Makes the captures in a folder of its own, some vehicles at a time, judges
 * them into `store` and removes them. Fails the test where anything fails. */
void made_fleet_judge(const made_fleet_plan *plan, platelag_fleet_store *store);

/* Whether a valve of the fleet is one that grows. */
bool made_fleet_grows(const platelag_fleet_valve *valve);

/* What the fleet says of them: told is q of 0.05 or less. */
typedef struct made_fleet_score {
  size_t growing, found; /* found: told, with a figure that grows worse */
  size_t steady, false_told;
} made_fleet_score;
made_fleet_score made_fleet_score_of(const platelag_fleet *fleet);

#endif
