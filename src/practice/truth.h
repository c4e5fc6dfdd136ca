/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The truth of a practice capture, as a JSON document of schema platelag.practice/1. */
#ifndef PLAG_PRACTICE_TRUTH_H
#define PLAG_PRACTICE_TRUTH_H

#include "practice/faults.h"
#include "practice/record.h"

/* What was made. */
typedef struct plag_truth {
  const platelag_practice_order *order; /* defaults filled in */
  const plag_fault_list *faults;        /* of the first valve, that are there in this condition */
  const plag_valve_parts *healthy, *spoilt; /* one a valve */
  const plag_world *world;                  /* driven to its end */
  const plag_record *record;
} plag_truth;

platelag_status plag_truth_write(const plag_truth *truth, const platelag_sink *sink,
                                 platelag_error *error);

#endif
