/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The map without friction. Plates that slid to a stand rest short of what the command asks for, by
 * what friction takes while they move: half the hysteresis. A map of settled readings lies between
 * the two branches where both were visited and on one of them elsewhere. Once friction is known,
 * each reading is put back by its own direction. */
#include <math.h>

#include "core/error.h"
#include "model/map.h"
#include "model/workspace.h"

#define LEAST_BEHIND_PCT          1.0 /* less does not matter */
#define LEAST_BEHIND_STRAIGHT_PCT 3.0 /* nor to a line through both branches, which steps bend */
#define LEAST_POINTS              6
#define SLID_BANDS                1.0 /* a move longer than this many stick bands did slide */

/* Half the hysteresis, % of travel: (S - J) / 2; 0 where it is not known. */
static double behind_pct(const platelag_friction *friction) {
  if (friction->stick_band_pct.known != PLATELAG_KNOWN_VALUE ||
      friction->slip_jump_pct.known != PLATELAG_KNOWN_VALUE)
    return 0.0;
  return 0.5 * (friction->stick_band_pct.value - friction->slip_jump_pct.value);
}

/* Steps that slid to rest, each put back; no further than the plates go at all, for a stop holds
 * them whatever is asked. */
static size_t gather(const plag_model *model, double behind, plag_map_point *point) {
  const platelag_fit *fit = model->fit;
  const double least_move_pct = SLID_BANDS * fit->friction.stick_band_pct.value;
  size_t count = 0;
  for (size_t k = 0; k < fit->step_count; k++) {
    const platelag_step *step = &fit->step[k];
    const double way = step->to_pct - step->from_pct;
    if (step->end != PLATELAG_STEP_SETTLED || !(fabs(way) > least_move_pct))
      continue;
    const double asked = step->to_pct + copysign(behind, way);
    point[count++] = (plag_map_point){
        .command = step->command_to,
        .travel_pct = fmin(fmax(asked, fit->travel.lowest_pct), fit->travel.highest_pct),
        .weight = 1.0,
    };
  }
  return count;
}

platelag_status plag_map_put_back_friction(plag_model *model, bool *changed,
                                           platelag_error *error) {
  *changed = false;
  const platelag_trace *trace = model->trace;
  platelag_fit *fit = model->fit;
  const double behind = behind_pct(&fit->friction);
  const double least = model->straight ? LEAST_BEHIND_STRAIGHT_PCT : LEAST_BEHIND_PCT;
  if (!(behind >= least) || trace->command_kind == PLATELAG_COMMAND_TWO_LEVEL ||
      fit->step_count < LEAST_POINTS)
    return PLATELAG_OK;
  const size_t mark = plag_workspace_mark(model->workspace);
  plag_map_point *point = plag_workspace_take(model->workspace, fit->step_count, sizeof *point);
  if (!point)
    return plag_error_memory(error, "the map without friction");
  const size_t count = gather(model, behind, point);
  double low = INFINITY;
  double high = -INFINITY;
  for (size_t k = 0; k < count; k++) {
    low = fmin(low, point[k].command);
    high = fmax(high, point[k].command);
  }
  *changed = count >= LEAST_POINTS &&
             high - low >= PLAG_MAP_SPAN_SHARE * (trace->command_highest - trace->command_lowest);
  if (*changed) {
    plag_map_build(fit, trace, point, count);
    plag_map_open_corners(fit);
  }
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
