/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What practice captures of the first set teach the judgement: how the facts are spread under each
 * hypothesis, and how far each fact is believed. */
#ifndef PLATELAG_TESTS_PRACTICE_LEARN_H
#define PLATELAG_TESTS_PRACTICE_LEARN_H

#include "support/practice_set.h"

/* The hypothesis that made a capture, as an index into the list. */
size_t practice_learn_hypothesis(const practice_case *of);

/* Prints, for each hypothesis and each fact, how often it is present and its quantiles: what the
 * expectations in src/judge are written from. */
void practice_learn_print_facts(const practice_case *of, size_t count);

/* Prints the densities that the captures teach, as rows of src/judge/learned_densities.inc. */
void practice_learn_print_densities(const practice_case *of, size_t count);

/* Finds the weight of each fact that makes the labels of the captures likeliest, under the
 * densities of this build, and prints it as rows of src/judge/learned_weights.inc. */
void practice_learn_print_weights(const practice_case *of, size_t count);

#endif
