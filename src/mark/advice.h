/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a student may do next time, by the points that it would earn. */
#ifndef PLAG_MARK_ADVICE_H
#define PLAG_MARK_ADVICE_H

#include "platelag/mark.h"

enum { PLAG_ADVICE_MOST = 3 };

typedef struct plag_advice {
  const char *text;    /* lent by the mark */
  const char *vehicle; /* that it was first given for */
  size_t criterion;    /* that it earns most by */
  double points;
} plag_advice;

/* The advice worth most points in submissions `from` up to `to`, into `out`, most first; the same
 * words for several criteria are one. Returns how many. */
size_t plag_advice_best(const platelag_class *marked, size_t from, size_t to,
                        plag_advice out[PLAG_ADVICE_MOST]);

#endif
