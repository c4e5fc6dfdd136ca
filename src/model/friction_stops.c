/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the travel ends. Readings pile up at a stop, but also where plates are held after a command
 * has turned at the same level again and again. At a stop the command went on by more one time and
 * by less another, and the plates came to the same place. */
#include <math.h>

#include "core/statistics.h"
#include "model/friction_search.h"
#include "model/workspace.h"

#define END_SHARE        0.02
#define PILE_SHARE       0.08 /* of the samples */
#define PILE_NOISES      2.5
#define PILE_LEAST_PCT   0.3
#define BEYOND_PCT       2.0 /* of travel, that visits must differ by */
#define BEYOND_NOISES    3.0
#define LEAST_OF_A_VISIT 2 /* samples */

/* Visits to a pile, each by how far the command went beyond. */
typedef struct visits {
  double level_pct, near_pct, sign;
  size_t samples; /* of the visit that lasts */
  double beyond_pct;
  double least_pct, most_pct;
} visits;

static void end_visit(visits *v) {
  if (v->samples >= LEAST_OF_A_VISIT) {
    v->least_pct = fmin(v->least_pct, v->beyond_pct);
    v->most_pct = fmax(v->most_pct, v->beyond_pct);
  }
  v->samples = 0;
  v->beyond_pct = -INFINITY;
}

static void visit_stretch(const plag_friction_record *record, const plag_friction_stretch *stretch,
                          visits *v) {
  const plag_moment *moment = record->moment + stretch->first_sample + stretch->first_event;
  const plag_moment *end = moment + stretch->sample_count + stretch->event_count;
  double target_pct = stretch->target_at_start_pct;
  for (; moment < end; moment++) {
    if (moment->is_event) {
      target_pct = record->event_pct[moment->index];
      continue;
    }
    if (fabs(record->travel_pct[moment->index] - v->level_pct) > v->near_pct) {
      end_visit(v);
      continue;
    }
    v->samples++;
    v->beyond_pct = fmax(v->beyond_pct, v->sign * target_pct);
  }
  end_visit(v);
}

/* The level that readings pile up at near one end; NaN where they do not. */
static double find_pile(const plag_friction_search *s, double *level, double share,
                        double near_pct) {
  const plag_friction_record *record = s->record;
  for (size_t i = 0; i < record->sample_count; i++)
    level[i] = record->travel_pct[i];
  const double end = plag_quantile(level, record->sample_count, share);
  size_t count = 0;
  for (size_t i = 0; i < record->sample_count; i++)
    if (fabs(record->travel_pct[i] - end) <= near_pct)
      level[count++] = record->travel_pct[i];
  return (double)count >= PILE_SHARE * (double)record->sample_count ? plag_median(level, count)
                                                                    : NAN;
}

static double find_stop(const plag_friction_search *s, double *level, double sign) {
  const double noise_pct = s->model->noise_pct;
  const double near_pct = fmax(PILE_NOISES * noise_pct, PILE_LEAST_PCT);
  const double pile = find_pile(s, level, sign > 0.0 ? 1.0 - END_SHARE : END_SHARE, near_pct);
  visits v = {.level_pct = pile,
              .near_pct = near_pct,
              .sign = sign,
              .beyond_pct = -INFINITY,
              .least_pct = INFINITY,
              .most_pct = -INFINITY};
  for (size_t k = 0; !isnan(pile) && k < s->record->stretch_count; k++)
    visit_stretch(s->record, &s->record->stretch[k], &v);
  return v.most_pct - v.least_pct > fmax(BEYOND_PCT, BEYOND_NOISES * noise_pct) ? pile
                                                                                : sign * INFINITY;
}

void plag_friction_find_stops(plag_friction_search *s) {
  const size_t mark = plag_workspace_mark(s->model->workspace);
  double *level =
      plag_workspace_take(s->model->workspace, s->record->sample_count, sizeof level[0]);
  s->lowest_pct = -INFINITY;
  s->highest_pct = INFINITY;
  if (!level)
    return;
  plag_friction_record_map(s->model, s->record, PLAG_FRICTION_MAP_LINE);
  s->lowest_pct = find_stop(s, level, -1.0);
  s->highest_pct = find_stop(s, level, 1.0);
  plag_workspace_release(s->model->workspace, mark);
}
