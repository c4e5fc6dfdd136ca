/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files of NIST's Statistical Reference Datasets, which are text for people: read line by line. */
#ifndef PLATELAG_TESTS_NIST_H
#define PLATELAG_TESTS_NIST_H

#include <stdbool.h>
#include <stddef.h>

/* The numbers that stand in a line, `most` at most; how many. */
size_t plag_test_nist_numbers(const char *line, double *number, size_t most);

/* Takes a line into `data`; `*in_data` is the taker's, false at first: readings stand below. */
typedef void plag_test_nist_take(void *data, const char *line, bool *in_data);

/* Hands the lines of FOLDER/NAME.dat to `take`. Fails the test where it is not there. */
void plag_test_nist_read(const char *folder, const char *name, plag_test_nist_take *take,
                         void *data);

#endif
