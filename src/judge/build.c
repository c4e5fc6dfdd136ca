/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/build.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

platelag_finding *plag_finding_begin(void) {
  platelag_finding *finding = calloc(1, sizeof *finding);
  struct plag_finding_store *store = calloc(1, sizeof *store);
  if (finding == NULL || store == NULL) {
    free(finding);
    free(store);
    return NULL;
  }
  finding->store = store;
  return finding;
}

void platelag_finding_destroy(platelag_finding *finding) {
  if (finding == NULL)
    return;
  plag_arena_clear(&finding->store->arena);
  free(finding->store);
  free(finding);
}

static int likelier_first(const void *a, const void *b) {
  const platelag_hypothesis_result *left = a;
  const platelag_hypothesis_result *right = b;
  if (left->probability != right->probability)
    return left->probability < right->probability ? 1 : -1;
  return strcmp(left->name, right->name);
}

static bool copy_hypotheses(platelag_finding *finding, const plag_posterior *posterior) {
  const size_t count = plag_hypothesis_count();
  platelag_hypothesis_result *list =
      plag_arena_take_array(&finding->store->arena, count, sizeof *list);
  if (list == NULL)
    return false;
  for (size_t i = 0; i < count; i++) {
    const plag_hypothesis *hypothesis = plag_hypothesis_at(i)->hypothesis;
    list[i] = (platelag_hypothesis_result){hypothesis->name, hypothesis->family,
                                           hypothesis->finding, posterior->probability[i]};
  }
  qsort(list, count, sizeof list[0], likelier_first);
  finding->hypothesis = list;
  finding->hypothesis_count = count;
  return true;
}

bool plag_finding_decide(platelag_finding *finding, const plag_posterior *posterior,
                         const bool *blocked, double decide_at) {
  memcpy(finding->probability, posterior->family, sizeof finding->probability);
  const bool sure = posterior->finding[posterior->best] >= decide_at &&
                    (blocked == NULL || !blocked[posterior->best]);
  finding->kind = sure ? posterior->best : PLATELAG_FINDING_UNDECIDED;
  finding->family = sure ? posterior->likeliest : PLATELAG_FAMILY_UNDECIDED;
  finding->finding_probability = posterior->finding[posterior->best];
  return copy_hypotheses(finding, posterior);
}

bool plag_finding_lack(platelag_finding *finding, const char *const *sentence, size_t count) {
  if (count == 0)
    return true;
  const char **list = plag_arena_take_array(&finding->store->arena, count, sizeof *list);
  if (list == NULL)
    return false;
  memcpy(list, sentence, count * sizeof *list);
  finding->lacking = list;
  finding->lacking_count = count;
  return true;
}
