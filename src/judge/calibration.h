/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Calibration: how far the scores of hypotheses are believed. */
#ifndef PLAG_JUDGE_CALIBRATION_H
#define PLAG_JUDGE_CALIBRATION_H

#include "judge/hypothesis.h"

/* One row a group of hypotheses that look alike. */
typedef struct plag_calibration_row {
  double temperature;    /* scores within the group are divided by it; 1 or more */
  double family_ceiling; /* no family of the group above this until something settles it; 1: none */
} plag_calibration_row;

const plag_calibration_row *plag_calibration_at(plag_group group);

/* Scores between groups are divided by this. */
double plag_calibration_between(void);

/* Turns log likelihoods into probabilities that add up to 1: prior times likelihood, tempered
 * between and within groups. `settled`: a hand sweep or a meter has spoken, so ceilings do not
 * hold. `tempered`: the likelihoods are calibrated already. */
void plag_calibration_apply(const double *log_likelihood, bool tempered, bool settled,
                            double *probability);

/* Lowers a family to `ceiling` at most; the others share what is freed. */
void plag_calibration_cap(platelag_family family, double ceiling, double *probability);

#endif
