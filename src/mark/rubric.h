/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The criteria: one table that the rubric, the marks and every report read. */
#ifndef PLAG_MARK_RUBRIC_H
#define PLAG_MARK_RUBRIC_H

#include "platelag/mark.h"

/* Criteria in the order of reports: first whether the recording is fit, then what was concluded. */
typedef enum plag_criterion {
  PLAG_CRITERION_CHANNELS,
  PLAG_CRITERION_LENGTH,
  PLAG_CRITERION_RATE,
  PLAG_CRITERION_MOVES,
  PLAG_CRITERION_TRAVEL,
  PLAG_CRITERION_PRECISION,
  PLAG_CRITERION_GAPS,
  PLAG_CRITERION_REVERSALS,
  PLAG_CRITERION_CONDITIONS,
  PLAG_CRITERION_FINDING,
  PLAG_CRITERION_FAMILY,
  PLAG_CRITERION_CODE,
  PLAG_CRITERION_NEXT_TEST,
  PLAG_CRITERION_PROBABILITY,
  PLAG_CRITERION_FIGURES
} plag_criterion;

/* The first of the conclusion's. */
#define PLAG_CONCLUSION_FROM PLAG_CRITERION_FINDING

enum { PLAG_CRITERION_SETTINGS = 3 };

/* A number that a criterion can be set by. */
typedef struct plag_setting {
  const char *name; /* NULL: no more */
  double standard, low, high;
  const char *comment;
} plag_setting;

typedef struct plag_criterion_row {
  const char *key, *title, *comment;
  double points;
  plag_setting setting[PLAG_CRITERION_SETTINGS];
} plag_criterion_row;

const plag_criterion_row *plag_criterion_at(size_t index);

struct platelag_rubric {
  double points[PLATELAG_CRITERIA];
  double setting[PLATELAG_CRITERIA][PLAG_CRITERION_SETTINGS];
};

#endif
