/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/held_basis.h"

#include <math.h>
#include <string.h>

#include "model/course.h"

#define NUMBERS (2 * PLATELAG_MAP_KNOTS + 10)

/* All of it as numbers; unknown ones are NaN. */
struct plag_held_basis {
  double number[NUMBERS];
};

static void take(const plag_model *model, plag_held_basis *out) {
  const platelag_fit *fit = model->fit;
  const plag_lag_point lag = plag_lag_point_of(fit);
  const double others[] = {
      (double)fit->map_knots,
      fit->map_low_pct,
      fit->map_high_pct,
      fit->travel.lowest_pct,
      fit->travel.highest_pct,
      lag.dead_time_s,
      lag.tau_open_s,
      lag.tau_close_s,
      fit->lag.command_on_rows ? 1.0 : 0.0,
      model->effort ? 1.0 : 0.0,
  };
  *out = (plag_held_basis){{0}};
  memcpy(out->number, others, sizeof others);
  double *map = out->number + sizeof others / sizeof others[0];
  for (size_t k = 0; k < fit->map_knots; k++) {
    map[2 * k] = fit->map_command[k];
    map[2 * k + 1] = fit->map_pct[k];
  }
}

static bool same(const plag_held_basis *one, const plag_held_basis *other) {
  for (size_t i = 0; i < NUMBERS; i++)
    if (one->number[i] != other->number[i] && !(isnan(one->number[i]) && isnan(other->number[i])))
      return false;
  return true;
}

bool plag_held_basis_stands(plag_model *model) {
  plag_held_basis now;
  take(model, &now);
  if (model->held_basis && same(model->held_basis, &now))
    return true;
  if (!model->held_basis)
    model->held_basis = plag_workspace_take(model->workspace, 1, sizeof now);
  if (model->held_basis)
    *model->held_basis = now;
  return false;
}
