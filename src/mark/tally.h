/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a class's marks add up to, for whoever teaches it next. */
#ifndef PLAG_MARK_TALLY_H
#define PLAG_MARK_TALLY_H

#include "platelag/mark.h"

/* The spread of percents, in steps of ten; 100 % is in the last. */
enum { PLAG_SPREAD_BINS = 10 };

typedef struct plag_criterion_tally {
  size_t criterion;
  size_t applied;     /* submissions that it counts in */
  size_t full;        /* that got all its points, or all but a twentieth */
  size_t dearest;     /* that lost more by it than by any other */
  double mean_share;  /* of its points, 0..1 */
  double mean_lost;   /* points a submission that it counts in */
  double points_lost; /* by all */
} plag_criterion_tally;

typedef struct plag_tally {
  size_t marked, unmarked, remarks;
  size_t spread[PLAG_SPREAD_BINS];
  plag_criterion_tally criterion[PLATELAG_CRITERIA]; /* that cost most first */
  size_t criterion_count;                            /* those that count in any submission */
} plag_tally;

plag_tally plag_tally_take(const platelag_class *marked);

/* The criterion that cost a submission most; PLATELAG_CRITERIA when none cost anything. */
size_t plag_dearest(const platelag_submission *submission);

/* Whether a mark is as good as full: a twentieth of its points may lack. */
bool plag_is_full(const platelag_mark *mark);

#endif
