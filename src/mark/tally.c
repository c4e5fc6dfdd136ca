/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/tally.h"

#include <math.h>
#include <stdlib.h>

#define FULL_SHARE 0.95

size_t plag_dearest(const platelag_submission *submission) {
  size_t worst = PLATELAG_CRITERIA;
  double most = 0;
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    const platelag_mark *mark = &submission->mark[i];
    if (mark->applies && mark->of - mark->points > most) {
      most = mark->of - mark->points;
      worst = i;
    }
  }
  return worst;
}

bool plag_is_full(const platelag_mark *mark) {
  return mark->points >= FULL_SHARE * mark->of;
}

static void add_marks(plag_criterion_tally *all, const platelag_submission *one) {
  const size_t worst = plag_dearest(one);
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    const platelag_mark *mark = &one->mark[i];
    if (!mark->applies || !(mark->of > 0))
      continue;
    all[i].applied++;
    all[i].full += plag_is_full(mark);
    all[i].dearest += worst == i;
    all[i].mean_share += mark->points / mark->of;
    all[i].points_lost += mark->of - mark->points;
  }
}

static void add_percent(plag_tally *tally, double percent) {
  if (isfinite(percent))
    tally->spread[(size_t)fmin(fmax(percent, 0) / (100.0 / PLAG_SPREAD_BINS),
                               PLAG_SPREAD_BINS - 1)]++;
}

static int costliest_first(const void *one, const void *other) {
  const plag_criterion_tally *a = one;
  const plag_criterion_tally *b = other;
  if (a->points_lost != b->points_lost)
    return a->points_lost > b->points_lost ? -1 : 1;
  return (a->criterion > b->criterion) - (a->criterion < b->criterion);
}

plag_tally plag_tally_take(const platelag_class *marked) {
  plag_tally tally = {0};
  plag_criterion_tally all[PLATELAG_CRITERIA] = {0};
  for (size_t i = 0; i < marked->submission_count; i++) {
    const platelag_submission *one = &marked->submission[i];
    tally.remarks += one->remark_count;
    tally.unmarked += !one->marked;
    if (!one->marked)
      continue;
    tally.marked++;
    add_percent(&tally, one->percent);
    add_marks(all, one);
  }
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    if (all[i].applied == 0)
      continue;
    all[i].criterion = i;
    all[i].mean_share /= (double)all[i].applied;
    all[i].mean_lost = all[i].points_lost / (double)all[i].applied;
    tally.criterion[tally.criterion_count++] = all[i];
  }
  qsort(tally.criterion, tally.criterion_count, sizeof tally.criterion[0], costliest_first);
  return tally;
}
