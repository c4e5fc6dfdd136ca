/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole road over bytes in memory, for tests: from a capture to what is reported of it. */
#ifndef PLATELAG_TESTS_MADE_REVIEW_H
#define PLATELAG_TESTS_MADE_REVIEW_H

#include "core/text.h"
#include "platelag/practice.h"
#include "platelag/review.h"

/* A capture in memory. */
typedef struct plag_test_bytes {
  const char *bytes;
  size_t size;
  platelag_condition condition;
} plag_test_bytes;

enum { PLAG_TEST_BYTES_MOST = 8 };

/* Reviews captures of one vehicle, PLAG_TEST_BYTES_MOST at most. The caller destroys the review. */
platelag_status plag_test_review_all(const plag_test_bytes *bytes, size_t count,
                                     const platelag_review_options *options,
                                     platelag_workspace *workspace, platelag_review **out,
                                     platelag_error *error);

/* Reviews `size` bytes as one road capture. The caller destroys the review. */
platelag_status plag_test_review(const char *bytes, size_t size,
                                 const platelag_review_options *options,
                                 platelag_workspace *workspace, platelag_review **out,
                                 platelag_error *error);

/* What the JSON report says of the valves and the case, from `"valves"` on, without the lines that
 * spell the names of columns: what must not depend on how a capture is written. For a capture that
 * was refused, the refusal. Fails the test when memory runs out. */
void plag_test_review_tell(const platelag_review *review, plag_text *out);

/* The first line in which two such texts differ, in `first` and `second`; false when they do not.
 * Both are cut to `size` bytes. */
bool plag_test_first_difference(const char *one, const char *other, char *first, char *second,
                                size_t size);

/* What is compared, and how near figures must be. */
typedef struct plag_test_closeness {
  const char *what; /* for messages, as is the order */
  const platelag_practice_order *order;
  double time_s;
  double travel_pct;
  bool turned; /* what opens in one closes in the other */
} plag_test_closeness;

/* Compares finding, family and figures of a valve with those of `whole`: figures may lie so far
 * beyond its 90 % interval. Tells what is too far and returns how many. */
size_t plag_test_compare_figures(const platelag_review_valve *valve,
                                 const platelag_review_valve *whole, plag_test_closeness close);

#endif
