/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The description with friction, or without, that explains a record best. */
#ifndef PLAG_MODEL_FRICTION_SEARCH_H
#define PLAG_MODEL_FRICTION_SEARCH_H

#include "model/friction_walk.h"

/* What is known of a parameter before: a mean and an sd. */
typedef struct plag_friction_prior {
  double mean[PLAG_FRICTION_PARAMETERS], sd[PLAG_FRICTION_PARAMETERS];
} plag_friction_prior;

/* What the search stands on. */
typedef struct plag_friction_search {
  plag_model *model;
  plag_friction_record *record;
  plag_friction_walk walk;
  plag_friction_walk other; /* for a walk beside it */
  plag_friction_prior prior;
  double lowest_pct, highest_pct; /* stops of the travel; infinite where none was met */
  double least_noise_pct;
  double noise_pct;     /* sd of what neither model nor timing explains */
  double wide_pct;      /* the same while thresholds are looked for */
  double most_pull_pct; /* no plates need more */
  bool lag_is_open;     /* too few steps tell lag from friction */
} plag_friction_search;

/* A description that was scored. */
typedef struct plag_friction_place {
  plag_friction_model plates;
  plag_friction_map map;
  double noise_pct;
  double cost; /* minus log likelihood, up to a constant: Student's t with 4 degrees of freedom */
  plag_friction_cell cell;
} plag_friction_place;

/* Whether plates that let go at `leave_pct`, and are the same otherwise, do the same and cost as
 * much. */
static inline bool plag_friction_is_same(const plag_friction_place *place, double leave_pct) {
  const plag_friction_cell *cell = &place->cell;
  return !cell->begins_by_leave && leave_pct >= cell->most_withstood_pct &&
         leave_pct + 2.0 * PLAG_STICTION_HAIR_PCT < cell->least_released_pct;
}

/* friction_stops.c: sets s->lowest_pct and s->highest_pct. */
void plag_friction_find_stops(plag_friction_search *s);

/* friction_score.c */

/* Scores a description as it stands. */
plag_friction_place plag_friction_score(plag_friction_search *s, const plag_friction_model *plates);

/* The same for the walk that s->walk holds. */
plag_friction_place plag_friction_score_walked(const plag_friction_search *s,
                                               const plag_friction_model *plates);

/* The same with the offset and factor that fit best, which the pulls are scaled by; leaves the
 * predictions of what was given in s->walk. */
plag_friction_place plag_friction_score_scaled(plag_friction_search *s,
                                               const plag_friction_model *plates);

/* Robust spread of what s->walk leaves where timing plays no part. */
double plag_friction_leftover_pct(plag_friction_search *s);

/* Residual (read - predicted). */
static inline double plag_friction_residual(const plag_friction_search *s,
                                            const plag_friction_walk *walk, size_t sample) {
  return s->record->travel_pct[sample] - walk->predicted_pct[sample];
}

/* friction_refine.c */

/* What least squares may change. */
typedef enum plag_friction_freedom {
  PLAG_REFINE_ALL,        /* everything but the pull that lets go */
  PLAG_REFINE_BEHIND_LAG, /* the lag stands */
  PLAG_REFINE_FREE        /* plates without friction */
} plag_friction_freedom;

/* Normal equations of a place; `meat` is the scatter of the gradient over movements. */
typedef struct plag_friction_normal {
  double curvature[PLAG_FRICTION_PARAMETERS][PLAG_FRICTION_PARAMETERS];
  double gradient[PLAG_FRICTION_PARAMETERS];
  double meat[PLAG_FRICTION_PARAMETERS][PLAG_FRICTION_PARAMETERS];
  size_t movements;
} plag_friction_normal;

/* Walks with derivatives, into s->walk, and gathers. */
void plag_friction_normal_of(plag_friction_search *s, const plag_friction_place *place,
                             plag_friction_freedom freedom, plag_friction_normal *n);

/* Everything but the pull that lets go, to the next minimum, by least squares that weigh strays
 * less; the pull goes along so that plates let go at the same changes. */
plag_friction_place plag_friction_refine(plag_friction_search *s, plag_friction_place from,
                                         plag_friction_freedom freedom, int rounds);

/* friction_search.c */

/* Free plates. */
plag_friction_place plag_friction_find_free(plag_friction_search *s);

/* Plates with friction; `none` is what free ones leave. */
plag_friction_place plag_friction_find(plag_friction_search *s, const plag_friction_place *none);

#endif
