/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/evidence.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Facts that move the odds by less than a tenth are no reason. */
#define WEIGHT_LEAST 0.1

/* Log of the prior-weighed mean density of one fact, over the hypotheses inside or outside a
 * family. */
static double mean_density(const plag_posterior *posterior, plag_feature feature,
                           platelag_family family, bool inside) {
  double sum = 0;
  double weight = 0;
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    const plag_hypothesis_row *row = plag_hypothesis_at(i);
    if ((row->hypothesis->family == family) != inside)
      continue;
    /* Within a family the hypotheses that the whole record favours speak for it. */
    const double share = row->prior * 0.05 + posterior->probability[i];
    sum += share * exp(posterior->by_feature[i][feature]);
    weight += share;
  }
  return log(sum / weight);
}

static platelag_evidence row_of(const plag_facts *facts, const plag_posterior *posterior,
                                plag_feature feature) {
  const plag_feature_row *told = plag_feature_at(feature);
  const plag_fact *fact = &facts->fact[feature];
  platelag_evidence row = {.what = told->what,
                           .value = fact->value,
                           .limit = fact->limit,
                           .unit = told->unit,
                           .speaks_for = PLATELAG_FAMILY_FREE,
                           .weight = -INFINITY};
  for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++) {
    const double weight = mean_density(posterior, feature, (platelag_family)f, true) -
                          mean_density(posterior, feature, (platelag_family)f, false);
    if (weight > row.weight) {
      row.weight = weight;
      row.speaks_for = (platelag_family)f;
    }
  }
  row.weight = fmax(row.weight, 0);
  /* Shares are kept as 0..1 and told in %. */
  if (told->unit[0] == '%' &&
      (feature == PLAG_FEATURE_HIGH_SHARE || feature == PLAG_FEATURE_LOW_SHARE ||
       feature == PLAG_FEATURE_MOVED || feature == PLAG_FEATURE_FROZEN_SHARE ||
       feature == PLAG_FEATURE_SAG || feature == PLAG_FEATURE_REFERENCE_DIPS ||
       feature == PLAG_FEATURE_WARM || feature == PLAG_FEATURE_VOID_MOVING))
    row.value *= 100;
  return row;
}

/* Facts of one weight in the order of their words, so that every build tells them alike. */
static int heavier_first(const void *a, const void *b) {
  const platelag_evidence *left = a;
  const platelag_evidence *right = b;
  if (left->weight != right->weight)
    return left->weight < right->weight ? 1 : -1;
  return strcmp(left->what, right->what);
}

bool plag_evidence_collect(const plag_facts *facts, const plag_posterior *posterior,
                           plag_arena *arena, const platelag_evidence **rows, size_t *count) {
  platelag_evidence *all =
      plag_arena_take_array(arena, PLAG_FEATURE_COUNT, sizeof(platelag_evidence));
  if (all == NULL)
    return false;
  size_t found = 0;
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++)
    if (facts->fact[f].present)
      all[found++] = row_of(facts, posterior, (plag_feature)f);
  qsort(all, found, sizeof all[0], heavier_first);
  size_t kept = 0;
  while (kept < found && kept < PLAG_EVIDENCE_ROWS &&
         (kept == 0 || all[kept].weight >= WEIGHT_LEAST))
    kept++;
  *rows = all;
  *count = kept;
  return true;
}
