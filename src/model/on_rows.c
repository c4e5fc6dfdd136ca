/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/on_rows.h"

#include <math.h>

#define LEAST_EVENTS 20
#define MOST_SHARE   0.6 /* of an even scatter's variance: more is not on rows */
#define SURE_SDS     3.0
/* Variance of a variance of n even values, over its square: (kurtosis - 1) / n, kurtosis 9 / 5. */
#define EVEN_SPREAD 0.8

typedef struct scatter {
  const plag_stretch_event *event; /* the one being measured */
  double product, squares;         /* of residuals and what a shift would do */
  double count, sum, sum2;         /* over events: how late, in brackets */
} scatter;

static void end_event(scatter *s) {
  if (s->event && s->event->unsure_s > 0.0 && s->event->alone && s->squares > 0.0) {
    const double late = fmax(fmin(s->product / s->squares / s->event->width_s, 2.0), -2.0);
    s->count += 1.0;
    s->sum += late;
    s->sum2 += late * late;
  }
  s->product = s->squares = 0.0;
}

static bool add(const plag_walk_point *point, void *context) {
  scatter *s = context;
  if (point->event != s->event) {
    end_event(s);
    s->event = point->event;
  }
  s->product += point->residual_pct * point->nudge_pct_per_s;
  s->squares += point->nudge_pct_per_s * point->nudge_pct_per_s;
  return true;
}

bool plag_changes_are_on_rows(const plag_stretches *stretches, const plag_walk_model *model) {
  scatter s = {0};
  plag_walk(stretches, model, add, &s);
  end_event(&s);
  if (s.count < LEAST_EVENTS)
    return false;
  const double variance = (s.sum2 - s.sum * s.sum / s.count) / (s.count - 1.0);
  const double share = 12.0 * variance;
  return share < MOST_SHARE && share < 1.0 - SURE_SDS * sqrt(EVEN_SPREAD / s.count);
}
