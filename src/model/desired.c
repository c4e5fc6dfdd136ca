/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The map of a desired position. A controller brings the plates to where they are desired: the map
 * of a position desired in the unit of the reading is known before anything is fitted, and what
 * slow or sticking plates make of it is not it. It ends where the plates do. */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/parts.h"

/* A fitted map that lies further off, in the middle, is of a controller with a scale of its own. */
#define OWN_SCALE_PCT 15.0

static bool is_in_unit_of_reading(const platelag_trace *trace) {
  if (trace->command_kind != PLATELAG_COMMAND_DESIRED)
    return false;
  switch (trace->level_unit) {
  case PLATELAG_LEVEL_VOLT:
    return trace->command->unit == PLATELAG_UNIT_VOLT;
  case PLATELAG_LEVEL_PCT_REFERENCE:
  case PLATELAG_LEVEL_PCT_OPEN:
    return trace->command->unit == PLATELAG_UNIT_PERCENT;
  case PLATELAG_LEVEL_UNKNOWN:
    break;
  }
  return false;
}

static double within(double value, double low, double high) {
  return fmin(fmax(value, low), high);
}

static bool has_own_scale(const platelag_fit *fit, const platelag_trace *trace) {
  double off[PLATELAG_MAP_KNOTS];
  for (size_t k = 0; k < fit->map_knots; k++)
    off[k] = fabs(fit->map_pct[k] - within(platelag_trace_travel_pct(trace, fit->map_command[k]),
                                           fit->travel.lowest_pct, fit->travel.highest_pct));
  return fit->map_knots > 0 && plag_median(off, fit->map_knots) > OWN_SCALE_PCT;
}

/* A straight line with the plates' ends as its corners, in order of the command. */
static void set_line(platelag_fit *fit, const platelag_trace *trace) {
  const double low_pct = fit->travel.lowest_pct;
  const double high_pct = fit->travel.highest_pct;
  const double per_pct = 0.01 * (trace->open_level - trace->closed_level);
  double corner[] = {trace->command_lowest, trace->closed_level + per_pct * low_pct,
                     trace->closed_level + per_pct * high_pct, trace->command_highest};
  if (trace->inverted) {
    const double swap = corner[1];
    corner[1] = corner[2];
    corner[2] = swap;
  }
  fit->map_knots = 0;
  for (size_t k = 0; k < sizeof corner / sizeof corner[0]; k++) {
    const double command = within(corner[k], trace->command_lowest, trace->command_highest);
    if (fit->map_knots > 0 && !(command > fit->map_command[fit->map_knots - 1]))
      continue;
    fit->map_command[fit->map_knots] = command;
    fit->map_pct[fit->map_knots++] =
        within(platelag_trace_travel_pct(trace, command), low_pct, high_pct);
  }
  fit->map_low_pct = fit->map_pct[0];
  fit->map_high_pct = fit->map_pct[fit->map_knots - 1];
  fit->map_rising = !trace->inverted;
}

platelag_status plag_desired_set_map(plag_model *model, platelag_error *error) {
  (void)error;
  const platelag_trace *trace = model->trace;
  platelag_fit *fit = model->fit;
  if (is_in_unit_of_reading(trace) && fit->travel.highest_pct > fit->travel.lowest_pct &&
      trace->command_highest > trace->command_lowest && !has_own_scale(fit, trace))
    set_line(fit, trace);
  return PLATELAG_OK;
}
