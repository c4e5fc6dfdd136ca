/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/asked.h"

#include <math.h>

#include "model/changes.h"

/* All of the fit that what is asked for rests on. */
typedef struct basis {
  size_t knots;
  double command[PLATELAG_MAP_KNOTS], pct[PLATELAG_MAP_KNOTS];
  double low_pct, high_pct;
  bool on_rows;
} basis;

struct plag_asked {
  bool filled;
  basis basis; /* when it was filled */
  plag_asked_change *change;
};

static void see_basis(const platelag_fit *fit, basis *out) {
  *out = (basis){.knots = fit->map_knots};
  for (size_t i = 0; i < fit->map_knots; i++) {
    out->command[i] = fit->map_command[i];
    out->pct[i] = fit->map_pct[i];
  }
  out->low_pct = fit->map_low_pct;
  out->high_pct = fit->map_high_pct;
  out->on_rows = fit->lag.command_on_rows;
}

static bool same(double one, double other) {
  return one == other || (isnan(one) && isnan(other));
}

static bool same_basis(const basis *one, const basis *other) {
  bool is_same = one->knots == other->knots && one->on_rows == other->on_rows &&
                 same(one->low_pct, other->low_pct) && same(one->high_pct, other->high_pct);
  for (size_t i = 0; i < one->knots && is_same; i++)
    is_same = same(one->command[i], other->command[i]) && same(one->pct[i], other->pct[i]);
  return is_same;
}

static void fill(const plag_model *model, plag_asked *asked) {
  const platelag_trace *trace = model->trace;
  for (size_t s = 0; s < trace->segment_count; s++) {
    plag_changes changes;
    plag_changes_begin(&changes, trace, s, 0.0, model->fit->lag.command_on_rows);
    for (; changes.at_ns != INT64_MAX; plag_changes_advance(&changes))
      asked->change[changes.next] = (plag_asked_change){
          changes.at_ns, plag_model_target_pct(model->fit, trace, changes.change.to)};
  }
}

bool plag_asked_take(plag_model *model) {
  model->asked = plag_workspace_take(model->workspace, 1, sizeof *model->asked);
  if (!model->asked)
    return false;
  model->asked->change = plag_workspace_take(model->workspace, model->trace->change_count + 1,
                                             sizeof(plag_asked_change));
  return model->asked->change != NULL;
}

static const plag_asked_change *changes_of(const plag_model *model) {
  plag_asked *asked = model->asked;
  basis now;
  see_basis(model->fit, &now);
  if (!asked->filled || !same_basis(&now, &asked->basis)) {
    fill(model, asked);
    asked->basis = now;
    asked->filled = true;
  }
  return asked->change;
}

void plag_asked_begin(plag_asked_walk *walk, const plag_model *model, size_t segment,
                      double delay_s) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *here = &trace->segment[segment];
  *walk = (plag_asked_walk){
      .change = changes_of(model),
      .next = here->first_change,
      .end = here->first_change + here->change_count,
      .delay_ns = (int64_t)llround(delay_s * 1e9),
      .pct = plag_model_target_pct(model->fit, trace, here->command_at_start),
  };
}
