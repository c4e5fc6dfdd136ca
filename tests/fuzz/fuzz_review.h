/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Captures all the way to the reports, and what must hold of them. */
#ifndef PLATELAG_TESTS_FUZZ_REVIEW_H
#define PLATELAG_TESTS_FUZZ_REVIEW_H

#include "platelag/platelag.h"

/* Reviews and writes every report. The review succeeds whatever the captures hold: one that is
 * refused is told in its place. */
void fuzz_review(const platelag_review_file *file, size_t count,
                 const platelag_review_options *options);

#endif
