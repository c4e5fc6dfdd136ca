/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Next tests: what would settle which family is to blame. */
#ifndef PLAG_JUDGE_NEXT_TESTS_H
#define PLAG_JUDGE_NEXT_TESTS_H

#include "core/arena.h"
#include "platelag/finding.h"

#define PLAG_NEXT_TESTS_MOST 4

/* The best tests for the families still open, best first: by the expected fall of uncertainty,
 * discounted for the time they take. `lacking` (NULL: nothing) is what the capture lacks, "why;
 * what to do": what to do becomes a test of its own. `swept`: a hand sweep was done already. False
 * without memory. */
bool plag_next_tests_choose(const double family[PLATELAG_FAMILY_COUNT],
                            platelag_finding_kind finding, const char *lacking, bool swept,
                            plag_arena *arena, const platelag_next_test **test, size_t *count);

#endif
