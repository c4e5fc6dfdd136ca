/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "core/statistics.h"
#include "model/friction_search.h"
#include "model/friction_tally.h"
#include "model/workspace.h"

#define FREEDOM      4.0 /* of the Student t */
#define LEAST_FACTOR 0.4 /* how far the map may be stretched */
#define MOST_FACTOR  4.0

/* Of the walk that s->walk holds, stretched. */
static double cost_of(const plag_friction_search *s, double offset, double factor) {
  const plag_friction_record *record = s->record;
  plag_friction_tally tally = plag_friction_tally_of(s->noise_pct);
  for (size_t i = 0; i < record->sample_count; i++)
    plag_friction_tally_add(&tally,
                            record->travel_pct[i] - offset - factor * s->walk.predicted_pct[i],
                            s->walk.spread_pct2[i]);
  return plag_friction_tally_cost(&tally, record->sample_count);
}

/* Weighted straight line of readings over predictions; strays weigh less the further out. */
static void fit_line(const plag_friction_search *s, double *offset, double *factor) {
  const plag_friction_record *record = s->record;
  const double noise_pct2 = s->noise_pct * s->noise_pct;
  *offset = 0.0;
  *factor = 1.0;
  for (int round = 0; round < 2; round++) {
    double w = 0, wx = 0, wy = 0, wxx = 0, wxy = 0;
    for (size_t k = 0; k < record->stretch_count; k++) {
      const size_t first = record->stretch[k].first_sample;
      const size_t end = first + record->stretch[k].sample_count;
      for (size_t i = first; i < end; i++) {
        const double x = s->walk.predicted_pct[i];
        const double y = record->travel_pct[i];
        const double variance = noise_pct2 + s->walk.spread_pct2[i];
        const double r = y - *offset - *factor * x;
        const double weight = 1.0 / (variance + r * r / FREEDOM);
        w += weight;
        wx += weight * x;
        wy += weight * y;
        wxx += weight * x * x;
        wxy += weight * x * y;
      }
    }
    const double spread = wxx - wx * wx / w;
    *factor = spread > 1e-9 * wxx ? (wxy - wx * wy / w) / spread : 1.0;
    if (!(*factor > LEAST_FACTOR && *factor < MOST_FACTOR))
      *factor = 1.0;
    *offset = (wy - *factor * wx) / w;
  }
}

static plag_friction_place place_of(const plag_friction_search *s,
                                    const plag_friction_model *plates,
                                    const plag_friction_cell *cell, double cost) {
  return (plag_friction_place){
      .plates = *plates, .noise_pct = s->noise_pct, .cell = *cell, .cost = cost};
}

plag_friction_place plag_friction_score_walked(const plag_friction_search *s,
                                               const plag_friction_model *plates) {
  return place_of(s, plates, &s->walk.cell, cost_of(s, 0.0, 1.0));
}

plag_friction_place plag_friction_score(plag_friction_search *s,
                                        const plag_friction_model *plates) {
  plag_friction_cell cell;
  const double cost = plag_friction_walk_cost(s->record, plates, s->noise_pct, &cell);
  return place_of(s, plates, &cell, cost);
}

plag_friction_place plag_friction_score_scaled(plag_friction_search *s,
                                               const plag_friction_model *plates) {
  double offset = 0.0;
  double factor = 1.0;
  plag_friction_walk_go(s->record, plates, &s->walk);
  fit_line(s, &offset, &factor);
  plag_friction_place place = place_of(s, plates, &s->walk.cell, cost_of(s, offset, factor));
  place.plates.offset_pct = offset + factor * plates->offset_pct;
  place.plates.factor = factor * plates->factor;
  place.plates.element.leave_pct *= factor;
  place.plates.element.behind_pct *= factor;
  place.cell.most_withstood_pct *= factor;
  place.cell.least_released_pct *= factor;
  place.cell.begins_by_leave = true; /* and stops are not scaled */
  return place;
}

double plag_friction_leftover_pct(plag_friction_search *s) {
  const plag_friction_record *record = s->record;
  const double least_pct = s->least_noise_pct;
  const size_t mark = plag_workspace_mark(s->model->workspace);
  double *left = plag_workspace_take(s->model->workspace, record->sample_count, sizeof left[0]);
  if (!left)
    return least_pct;
  size_t count = 0;
  for (size_t k = 0; k < record->stretch_count; k++)
    for (size_t i = record->stretch[k].first_sample;
         i < record->stretch[k].first_sample + record->stretch[k].sample_count; i++)
      if (s->walk.spread_pct2[i] <= 4.0 * least_pct * least_pct)
        left[count++] = fabs(plag_friction_residual(s, &s->walk, i));
  const double spread = count > 0 ? 1.4826 * plag_median(left, count) : least_pct;
  plag_workspace_release(s->model->workspace, mark);
  return fmax(spread, least_pct);
}
