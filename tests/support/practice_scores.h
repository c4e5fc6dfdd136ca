/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a set of judged practice captures comes to. */
#ifndef PLATELAG_TESTS_PRACTICE_SCORES_H
#define PLATELAG_TESTS_PRACTICE_SCORES_H

#include "support/practice_set.h"

/* A Brier score of findings, and that of a perfect forecaster who says the same. */
typedef struct practice_brier {
  double score, floor;
} practice_brier;

typedef struct practice_scores {
  size_t captures, failed;
  size_t decidable, decidable_answered;
  size_t answered, right; /* captures whose fault is not hidden */
  size_t hidden, hidden_free, hidden_wrong;
  size_t healthy, alarms;
  size_t swapped; /* mechanical told as sensor_circuit or the reverse */
  double swapped_surest;
  size_t mixtures, mixtures_right, mixtures_told;
  /* of the family held likeliest, over all captures, hidden faults being faults */
  double ece, ece_floor;
  /* of the finding held likeliest, where nothing blocks it */
  double finding_ece, finding_ece_floor;
  practice_brier brier, brier_of_decidable, brier_of_answered;
} practice_scores;

/* Sums up captures of the first or second set. */
practice_scores practice_scores_sum(const practice_case *of, size_t count);

/* Prints them. */
void practice_scores_print(const practice_scores *scores);
void practice_scores_print_confusion(const practice_case *of, size_t count);
void practice_scores_print_reliability(const practice_case *of, size_t count);
void practice_scores_print_coverage(const practice_case *of, size_t count);

/* Of captures nobody can decide: those left undecided, and those of them that say what they lack.
 */
void practice_scores_undecided(const practice_case *of, size_t count, size_t *undecided,
                               size_t *telling);

bool practice_case_is_right(const practice_case *of);

#endif
