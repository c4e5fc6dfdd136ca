/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/advice.h"

#include <string.h>

/* What the same words would earn wherever they stand. */
static double worth(const platelag_class *marked, size_t from, size_t to, const char *text) {
  double points = 0;
  for (size_t i = from; i < to; i++)
    for (size_t k = 0; k < PLATELAG_CRITERIA; k++) {
      const platelag_mark *mark = &marked->submission[i].mark[k];
      if (mark->applies && strcmp(mark->advice, text) == 0)
        points += mark->of - mark->points;
    }
  return points;
}

static bool has(const plag_advice *list, size_t count, const char *text) {
  for (size_t i = 0; i < count; i++)
    if (strcmp(list[i].text, text) == 0)
      return true;
  return false;
}

/* The best that `list` does not have yet. */
static plag_advice next_best(const platelag_class *marked, size_t from, size_t to,
                             const plag_advice *list, size_t count) {
  plag_advice best = {0};
  for (size_t i = from; i < to; i++)
    for (size_t k = 0; k < PLATELAG_CRITERIA; k++) {
      const platelag_submission *one = &marked->submission[i];
      const platelag_mark *mark = &one->mark[k];
      if (!one->marked || !mark->applies || mark->advice[0] == '\0' ||
          has(list, count, mark->advice))
        continue;
      const double points = worth(marked, from, to, mark->advice);
      if (points > best.points)
        best = (plag_advice){
            .text = mark->advice, .vehicle = one->vehicle, .criterion = k, .points = points};
    }
  return best;
}

size_t plag_advice_best(const platelag_class *marked, size_t from, size_t to,
                        plag_advice out[PLAG_ADVICE_MOST]) {
  size_t count = 0;
  while (count < PLAG_ADVICE_MOST) {
    out[count] = next_best(marked, from, to, out, count);
    if (out[count].text == NULL)
      break;
    count++;
  }
  return count;
}
