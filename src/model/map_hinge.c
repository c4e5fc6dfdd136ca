/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A straight line between two stops: what a drive against a spring asks for. Nine knots cannot
 * follow its corners; where it explains the settled readings as well as the knots do, it is the
 * map. */
#include <math.h>

#include "core/lesser.h"
#include "model/map.h"

#define ROUNDS        8
#define LEAST_MIDDLE  8    /* readings between the stops */
#define NEAR_STOP     0.06 /* of the span: readings this near to an end belong to it */
#define LEAST_AT_STOP 2    /* readings well past a stop, or it is none */
#define AS_GOOD       1.05 /* mean of robust residuals, beside the knots' */
/* Knots that leave more than this do not know the map either: friction scatters the readings, and a
 * ridge of carbon bends knots towards itself. Then the line need only be of their kind. */
#define SCATTER_PCT 0.6
#define OF_THE_KIND 2.2
#define ROBUST_PCT  1.0 /* residuals count as squares below and straight above */

typedef struct hinge {
  double offset, slope, low_pct, high_pct;
  bool sees_low, sees_high; /* readings rest there although the line is well past it */
} hinge;

static double value_of(const hinge *map, double command) {
  return plag_lesser(plag_greater(map->offset + map->slope * command, map->low_pct), map->high_pct);
}

/* Weighted straight line through what lies between the stops; false where too little does. */
static bool fit_line(hinge *map, const plag_map_point *point, size_t count) {
  const double near = NEAR_STOP * (map->high_pct - map->low_pct);
  double w = 0, x = 0, y = 0, xx = 0, xy = 0;
  size_t middle = 0;
  for (size_t i = 0; i < count; i++) {
    if (point[i].travel_pct < map->low_pct + near || point[i].travel_pct > map->high_pct - near)
      continue;
    const double off = point[i].travel_pct - map->offset - map->slope * point[i].command;
    const double weight = point[i].weight / plag_greater(fabs(off), ROBUST_PCT);
    w += weight;
    x += weight * point[i].command;
    y += weight * point[i].travel_pct;
    xx += weight * point[i].command * point[i].command;
    xy += weight * point[i].command * point[i].travel_pct;
    middle++;
  }
  const double spread = xx - x * x / w;
  if (middle < LEAST_MIDDLE || !(spread > 0.0))
    return false;
  map->slope = (xy - x * y / w) / spread;
  map->offset = (y - map->slope * x) / w;
  return map->slope != 0.0;
}

/* The stops: means of what rests where the line has left the travel. Where nothing does, it goes on
 * to the end of the scale. */
static void fit_stops(hinge *map, const plag_map_point *point, size_t count) {
  const double clear = NEAR_STOP * (map->high_pct - map->low_pct);
  double low_sum = 0, low_weight = 0, high_sum = 0, high_weight = 0;
  size_t clear_low = 0, clear_high = 0;
  for (size_t i = 0; i < count; i++) {
    const double line = map->offset + map->slope * point[i].command;
    if (line < map->low_pct) {
      const double weight =
          point[i].weight / plag_greater(fabs(point[i].travel_pct - map->low_pct), ROBUST_PCT);
      clear_low += line < map->low_pct - clear;
      low_sum += weight * point[i].travel_pct;
      low_weight += weight;
    } else if (line > map->high_pct) {
      const double weight =
          point[i].weight / plag_greater(fabs(point[i].travel_pct - map->high_pct), ROBUST_PCT);
      clear_high += line > map->high_pct + clear;
      high_sum += weight * point[i].travel_pct;
      high_weight += weight;
    }
  }
  map->sees_low = clear_low >= LEAST_AT_STOP;
  map->sees_high = clear_high >= LEAST_AT_STOP;
  if (low_weight > 0.0)
    map->low_pct = low_sum / low_weight;
  if (high_weight > 0.0)
    map->high_pct = high_sum / high_weight;
}

static double robust_cost(double off) {
  const double size = fabs(off);
  return size < ROBUST_PCT ? 0.5 * size * size / ROBUST_PCT : size - 0.5 * ROBUST_PCT;
}

/* The fit's knots for a line from stop to stop. */
static void set_knots(platelag_fit *fit, const hinge *map, double command_low,
                      double command_high) {
  const double at_low = (map->low_pct - map->offset) / map->slope;
  const double at_high = (map->high_pct - map->offset) / map->slope;
  const double corner[2] = {plag_lesser(at_low, at_high), plag_greater(at_low, at_high)};
  const double margin = 1e-6 * (command_high - command_low);
  size_t knots = 0;
  fit->map_command[knots] = command_low;
  fit->map_pct[knots++] = value_of(map, command_low);
  for (int k = 0; k < 2; k++)
    if (corner[k] > command_low + margin && corner[k] < command_high - margin) {
      fit->map_command[knots] = corner[k];
      fit->map_pct[knots++] = value_of(map, corner[k]);
    }
  fit->map_command[knots] = command_high;
  fit->map_pct[knots++] = value_of(map, command_high);
  fit->map_knots = knots;
}

bool plag_map_try_hinge(platelag_fit *fit, const platelag_trace *trace, const plag_map_point *point,
                        size_t count) {
  const double knots_span = fit->map_pct[fit->map_knots - 1] - fit->map_pct[0];
  const double command_span = fit->map_command[fit->map_knots - 1] - fit->map_command[0];
  hinge map = {.low_pct = INFINITY, .high_pct = -INFINITY};
  double low = INFINITY;
  double high = -INFINITY;
  for (size_t i = 0; i < count; i++) {
    map.low_pct = plag_lesser(map.low_pct, point[i].travel_pct);
    map.high_pct = plag_greater(map.high_pct, point[i].travel_pct);
    low = plag_lesser(low, point[i].command);
    high = plag_greater(high, point[i].command);
  }
  if (!(command_span > 0.0) || knots_span == 0.0)
    return false;
  map.slope = knots_span / command_span;
  map.offset = fit->map_pct[0] - map.slope * fit->map_command[0];
  for (int round = 0; round < ROUNDS; round++) {
    if (!fit_line(&map, point, count))
      return false;
    fit_stops(&map, point, count);
  }
  double by_hinge = 0.0;
  double by_knots = 0.0;
  double weight = 0.0;
  for (size_t i = 0; i < count; i++) {
    weight += point[i].weight;
    const double by = plag_model_target_pct(fit, trace, point[i].command);
    by_knots += point[i].weight * robust_cost(point[i].travel_pct - by);
    by_hinge +=
        point[i].weight * robust_cost(point[i].travel_pct - value_of(&map, point[i].command));
  }
  const double worse = by_knots > SCATTER_PCT * weight ? OF_THE_KIND : AS_GOOD;
  if (!(by_hinge <= worse * by_knots) || map.slope * knots_span < 0.0)
    return false;
  if (!map.sees_low)
    map.low_pct = plag_lesser(map.low_pct, 0.0);
  if (!map.sees_high)
    map.high_pct = plag_greater(map.high_pct, 100.0);
  set_knots(fit, &map, plag_lesser(low, trace->command_lowest),
            plag_greater(high, trace->command_highest));
  return true;
}
