/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/calibration.h"

#include <math.h>

/* The facts of a record are scored as if independent, which they are not quite; the weights that
 * were learned take that back, so temperatures stay at 1 until a measurement asks for others. The
 * ceilings are judgements. Which of two troubles at once leads, and a signal that does not move,
 * are never told apart for sure by one capture. The ceiling of the high group is design section 7:
 * wire and plates past their stop both stay open until a hand sweep or a meter settles it. */
static const plag_calibration_row row[PLAG_GROUP_COUNT] = {
    [PLAG_GROUP_MOVING] = {1.0, 1.0}, [PLAG_GROUP_MIXED] = {1.0, 0.90},
    [PLAG_GROUP_STILL] = {1.0, 0.90}, [PLAG_GROUP_HIGH] = {1.0, 0.85},
    [PLAG_GROUP_LOW] = {1.0, 1.0},
};

static const double between_groups = 1.0;

const plag_calibration_row *plag_calibration_at(plag_group group) {
  return &row[group];
}
double plag_calibration_between(void) {
  return between_groups;
}

static double log_add(double a, double b) {
  const double most = fmax(a, b);
  return isinf(most) ? most : most + log(exp(a - most) + exp(b - most));
}

static bool is_of(size_t hypothesis, plag_group group) {
  return group == PLAG_GROUP_COUNT || plag_hypothesis_at(hypothesis)->hypothesis->group == group;
}

/* Lowers `family` to `ceiling` of its group (PLAG_GROUP_COUNT: of all); the others share what is
 * freed. */
static void cap_family(plag_group group, platelag_family family, double ceiling,
                       double *probability) {
  double own = 0;
  double all = 0;
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    if (!is_of(i, group))
      continue;
    all += probability[i];
    own += plag_hypothesis_at(i)->hypothesis->family == family ? probability[i] : 0;
  }
  if (!(own > ceiling * all) || !(own < all))
    return;
  const double down = ceiling * all / own;
  const double up = (1.0 - ceiling) * all / (all - own);
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    if (is_of(i, group))
      probability[i] *= plag_hypothesis_at(i)->hypothesis->family == family ? down : up;
}

void plag_calibration_cap(platelag_family family, double ceiling, double *probability) {
  cap_family(PLAG_GROUP_COUNT, family, ceiling, probability);
}

void plag_calibration_apply(const double *log_likelihood, bool tempered, bool settled,
                            double *probability) {
  const size_t count = plag_hypothesis_count();
  double mass[PLAG_GROUP_COUNT];
  double within[PLAG_GROUP_COUNT];
  double prior[PLAG_GROUP_COUNT] = {0};
  for (int g = 0; g < PLAG_GROUP_COUNT; g++)
    mass[g] = within[g] = -INFINITY;
  for (size_t i = 0; i < count; i++)
    prior[plag_hypothesis_at(i)->hypothesis->group] += plag_hypothesis_at(i)->prior;
  for (size_t i = 0; i < count; i++) {
    const plag_group g = plag_hypothesis_at(i)->hypothesis->group;
    const double share = log(plag_hypothesis_at(i)->prior / prior[g]);
    const double temperature = tempered ? 1.0 : row[g].temperature;
    mass[g] = log_add(mass[g], share + log_likelihood[i]);
    within[g] = log_add(within[g], share + log_likelihood[i] / temperature);
  }
  double all = -INFINITY;
  const double between = tempered ? 1.0 : between_groups;
  for (int g = 0; g < PLAG_GROUP_COUNT; g++)
    all = log_add(all, log(prior[g]) + mass[g] / between);
  for (size_t i = 0; i < count; i++) {
    const plag_group g = plag_hypothesis_at(i)->hypothesis->group;
    const double share = log(plag_hypothesis_at(i)->prior / prior[g]);
    const double temperature = tempered ? 1.0 : row[g].temperature;
    probability[i] = exp(log(prior[g]) + mass[g] / between - all + share +
                         log_likelihood[i] / temperature - within[g]);
  }
  if (settled)
    return;
  for (int g = 0; g < PLAG_GROUP_COUNT; g++)
    for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
      cap_family((plag_group)g, (platelag_family)f, row[g].family_ceiling, probability);
}
