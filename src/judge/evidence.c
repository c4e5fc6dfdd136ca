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

/* What is said of a feature instead, where its value is small. */
static const char *words_of(plag_feature feature, double value) {
  if (feature == PLAG_FEATURE_AIR_ANSWER && fabs(value) < 2)
    return "the air channels do not answer the command";
  /* Free plates are friction of none, so it is never far behind, only ahead. */
  if (feature == PLAG_FEATURE_DESCRIPTION && value < 2)
    return "free plates explain the movement as well as friction";
  return plag_feature_at(feature)->what;
}

/* What the user tested is told whatever it weighs. */
static bool is_test(plag_feature feature) {
  return feature >= PLAG_FEATURE_SWEEP && feature <= PLAG_FEATURE_METER_SIGNAL;
}

static platelag_evidence row_of(const plag_facts *facts, const plag_posterior *posterior,
                                plag_feature feature) {
  const plag_feature_row *told = plag_feature_at(feature);
  const plag_fact *fact = &facts->fact[feature];
  platelag_evidence row = {.what = words_of(feature, fact->value),
                           .value = fact->value,
                           .limit = fact->limit,
                           .unit = told->unit,
                           .speaks_for = PLATELAG_FAMILY_FREE,
                           .weight = -INFINITY,
                           .source = is_test(feature) ? PLATELAG_EVIDENCE_TEST
                                                      : PLATELAG_EVIDENCE_RECORD};
  for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++) {
    row.log_likelihood[f] = mean_density(posterior, feature, (platelag_family)f, true);
    const double weight =
        row.log_likelihood[f] - mean_density(posterior, feature, (platelag_family)f, false);
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
  /* So many of how many jumps, likewise. */
  if (feature == PLAG_FEATURE_JUMP_DIRECTION || feature == PLAG_FEATURE_JUMP_UNASKED ||
      feature == PLAG_FEATURE_HELD_LEAPT)
    row.value *= 100 / fact->count;
  return row;
}

int plag_evidence_heavier_first(const void *a, const void *b) {
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
  qsort(all, found, sizeof all[0], plag_evidence_heavier_first);
  size_t kept = 0;
  for (size_t i = 0; i < found && kept < PLAG_EVIDENCE_ROWS; i++)
    if (kept == 0 || all[i].weight >= WEIGHT_LEAST || all[i].source == PLATELAG_EVIDENCE_TEST)
      all[kept++] = all[i];
  *rows = all;
  *count = kept;
  return true;
}
