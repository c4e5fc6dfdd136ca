/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/friction_walk.h"

#include <math.h>
#include <string.h>

#include "model/friction_ahead.h"
#include "model/friction_tally.h"
#include "model/friction_way.h"

#define P PLAG_FRICTION_PARAMETERS

/* What stays the same along a record. */
typedef struct course {
  const plag_friction_record *record;
  const plag_friction_model *plates;
  plag_friction_walk *out; /* unless to score */
  plag_friction_rates rates;
} course;

/* Where the element sends the plates, and their way there. */
typedef struct place {
  plag_stiction_state element;
  plag_friction_way way;
} place;

/* How that depends on the parameters: where they are sent, and the way. */
typedef struct slopes {
  double output_by[P], way_by[P];
  uint16_t movements;
} slopes;

bool plag_friction_walk_take(plag_model *model, size_t samples, plag_friction_walk *walk) {
  *walk = (plag_friction_walk){
      .predicted_pct = plag_workspace_take(model->workspace, samples, sizeof(double)),
      .spread_pct2 = plag_workspace_take(model->workspace, samples, sizeof(double)),
      .derivative = plag_workspace_take(model->workspace, samples * P, sizeof(double)),
      .movement = plag_workspace_take(model->workspace, samples, sizeof(uint16_t)),
  };
  return walk->predicted_pct && walk->spread_pct2 && walk->derivative && walk->movement;
}

/* A pull by the parameters: target less output, the way it pulls. */
static void derive_pull(const slopes *by, double pull_pct, double map_pct, double *to) {
  const double way = pull_pct > 0.0 ? 1.0 : -1.0;
  for (int k = 0; k < P; k++)
    to[k] = -way * by->output_by[k];
  to[PLAG_BY_OFFSET] += way;
  to[PLAG_BY_FACTOR] += way * map_pct;
}

static void derive_output(const course *c, const plag_stiction_state *element, slopes *by,
                          double map_pct, double position_pct, const double *position_by) {
  if (element->output_pct == position_pct) { /* stopped short */
    memcpy(by->output_by, position_by, sizeof by->output_by);
    return;
  }
  memset(by->output_by, 0, sizeof by->output_by);
  if (element->output_pct == c->plates->element.lowest_pct ||
      element->output_pct == c->plates->element.highest_pct)
    return; /* a stop */
  by->output_by[PLAG_BY_BEHIND] = -element->direction;
  by->output_by[PLAG_BY_OFFSET] = 1.0;
  by->output_by[PLAG_BY_FACTOR] = map_pct;
}

static void derive_event(const course *c, const plag_stiction_state *before,
                         const plag_stiction_state *element, slopes *by, double target_pct,
                         double map_pct, double position_pct) {
  double position_by[P];
  if (element->most_withstood_pct > before->most_withstood_pct)
    derive_pull(by, target_pct - before->output_pct, map_pct, c->out->withstood_by);
  if (element->least_released_pct < before->least_released_pct)
    derive_pull(by, target_pct - before->output_pct, map_pct, c->out->released_by);
  if (element->direction != 0 && before->direction != element->direction)
    by->movements++;
  if (element->output_pct == before->output_pct)
    return;
  for (int k = 0; k < P; k++)
    position_by[k] = by->output_by[k] + by->way_by[k];
  derive_output(c, element, by, map_pct, position_pct, position_by);
  for (int k = 0; k < P; k++)
    by->way_by[k] = position_by[k] - by->output_by[k];
}

/* A change of the command arrives. */
static inline void feed(const course *c, place *at, slopes *by, const plag_moment *moment,
                        plag_walk_purpose what) {
  const plag_friction_record *record = c->record;
  const plag_friction_model *plates = c->plates;
  const double map_pct = record->event_pct[moment->index];
  const double target_pct = plates->offset_pct + plates->factor * map_pct;
  const double position_pct = at->element.output_pct + at->way.pct;
  const plag_stiction_state before = at->element;
  plag_stiction_feed(&at->element, &plates->element, target_pct, moment->at_s, position_pct);
  const double output_pct = at->element.output_pct;
  if (output_pct != before.output_pct) {
    at->way.pct = position_pct - output_pct;
    at->way.timing_pct2 += plag_friction_timing_pct2(output_pct - before.output_pct,
                                                     plag_friction_rate(&c->rates, &at->way),
                                                     record->event_open_s[moment->index]);
  }
  if (what == PLAG_WALK_DERIVE)
    derive_event(c, &before, &at->element, by, target_pct, map_pct, position_pct);
}

static inline void keep(const course *c, const place *at, const slopes *by, size_t sample,
                        plag_walk_purpose what) {
  c->out->predicted_pct[sample] = at->element.output_pct + at->way.pct;
  c->out->spread_pct2[sample] = at->way.timing_pct2;
  if (what != PLAG_WALK_DERIVE)
    return;
  double *to = c->out->derivative + sample * P;
  for (int k = 0; k < P; k++)
    to[k] = by->output_by[k] + by->way_by[k];
  /* All that is felt comes later by the dead time. */
  to[PLAG_BY_DEAD_TIME] = at->way.pct * plag_friction_rate(&c->rates, &at->way);
  c->out->movement[sample] = by->movements;
}

static inline void start(const course *c, place *at, slopes *by,
                         const plag_friction_stretch *stretch, double map_pct,
                         plag_walk_purpose what) {
  const double position_pct = stretch->travel_at_start_pct;
  const plag_stiction_state before = at->element;
  plag_stiction_start(&at->element, &c->plates->element, position_pct,
                      c->plates->offset_pct + c->plates->factor * map_pct,
                      stretch->direction_at_start, c->record->time_s[stretch->first_sample]);
  at->element.most_withstood_pct = before.most_withstood_pct;
  at->element.least_released_pct = before.least_released_pct;
  at->way.pct = position_pct - at->element.output_pct;
  at->way.timing_pct2 = 0.0;
  if (what != PLAG_WALK_DERIVE)
    return;
  static const double stands[P] = {0};
  by->movements++;
  if (at->element.direction != 0)
    by->movements++;
  derive_output(c, &at->element, by, map_pct, position_pct, stands);
  for (int k = 0; k < P; k++)
    by->way_by[k] = -by->output_by[k];
}

static inline plag_friction_cell walk_all(const course *c, plag_walk_purpose what,
                                          plag_friction_tally *tally) {
  const plag_friction_record *record = c->record;
  place at = {.element = {.least_released_pct = INFINITY}};
  slopes by = {.movements = 0};
  for (size_t s = 0; s < record->stretch_count; s++) {
    const plag_friction_stretch *stretch = &record->stretch[s];
    const plag_moment *end = plag_friction_end_moment(record, stretch);
    double map_pct = 0.0;
    const plag_moment *moment = plag_friction_first_moment(record, stretch, &map_pct);
    start(c, &at, &by, stretch, map_pct, what);
    for (; moment < end; moment++) {
      plag_friction_fade(&c->rates, moment, what, &at.way, by.way_by);
      if (moment->is_event)
        feed(c, &at, &by, moment, what);
      else if (what == PLAG_WALK_SCORE)
        plag_friction_tally_add(
            tally, record->travel_pct[moment->index] - at.element.output_pct - at.way.pct,
            at.way.timing_pct2);
      else
        keep(c, &at, &by, moment->index, what);
    }
  }
  return (plag_friction_cell){.most_withstood_pct = at.element.most_withstood_pct,
                              .least_released_pct = at.element.least_released_pct};
}

static bool same_lag(const plag_lag_point *one, const plag_lag_point *other) {
  return one->dead_time_s == other->dead_time_s && one->tau_open_s == other->tau_open_s &&
         one->tau_close_s == other->tau_close_s;
}

static course begin(plag_friction_record *record, const plag_friction_model *plates,
                    plag_friction_walk *walk) {
  if (!same_lag(&record->lag, &plates->lag))
    plag_friction_record_order(record, plates->lag);
  return (course){.record = record,
                  .plates = plates,
                  .out = walk,
                  .rates = plag_friction_rates_of(&plates->lag)};
}

static void fill(plag_friction_record *record, const plag_friction_model *plates,
                 plag_friction_walk *walk, bool derive) {
  const course c = begin(record, plates, walk);
  if (plates->order == PLAG_LAG_AHEAD)
    plag_friction_ahead_walk(record, plates, walk, derive);
  else if (derive)
    walk->cell = walk_all(&c, PLAG_WALK_DERIVE, NULL);
  else
    walk->cell = walk_all(&c, PLAG_WALK_PREDICT, NULL);
}

void plag_friction_walk_go(plag_friction_record *record, const plag_friction_model *plates,
                           plag_friction_walk *walk) {
  fill(record, plates, walk, false);
}

void plag_friction_walk_derive(plag_friction_record *record, const plag_friction_model *plates,
                               plag_friction_walk *walk) {
  fill(record, plates, walk, true);
}

double plag_friction_walk_cost(plag_friction_record *record, const plag_friction_model *plates,
                               double noise_pct, plag_friction_cell *cell) {
  const course c = begin(record, plates, NULL);
  if (plates->order == PLAG_LAG_AHEAD)
    return plag_friction_ahead_cost(record, plates, noise_pct, cell);
  plag_friction_tally tally = plag_friction_tally_of(noise_pct);
  *cell = walk_all(&c, PLAG_WALK_SCORE, &tally);
  return plag_friction_tally_cost(&tally, record->sample_count);
}
