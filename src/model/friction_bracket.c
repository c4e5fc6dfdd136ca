/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "model/friction_report.h"

void plag_friction_report_bracket(plag_model *model) {
  const platelag_fit *fit = model->fit;
  double largest_still = 0.0;
  double smallest_moved = INFINITY;
  for (size_t k = 0; k < fit->step_count; k++) {
    const platelag_step *step = &fit->step[k];
    const double asked = fabs(plag_model_target_pct(fit, model->trace, step->command_to) -
                              plag_model_target_pct(fit, model->trace, step->command_from));
    if (step->end == PLATELAG_STEP_NO_MOVE)
      largest_still = fmax(largest_still, asked);
    else if (step->end != PLATELAG_STEP_VOID && step->end != PLATELAG_STEP_CUT)
      smallest_moved = fmin(smallest_moved, asked);
  }
  if (isinf(smallest_moved))
    return;
  model->fit->friction.stick_band_pct = (platelag_estimate){
      .known = largest_still > 0.0 && largest_still < smallest_moved ? PLATELAG_KNOWN_BRACKET
                                                                     : PLATELAG_KNOWN_UPPER_LIMIT,
      .value = NAN,
      .low = largest_still < smallest_moved ? largest_still : 0.0,
      .high = smallest_moved,
  };
}
