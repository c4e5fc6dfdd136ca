/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Practice captures in memory or in a file, for tests. */
#ifndef PLATELAG_TESTS_MADE_CAPTURE_H
#define PLATELAG_TESTS_MADE_CAPTURE_H

#include <stdbool.h>

#include "core/text.h"
#include "platelag/practice.h"
#include "platelag/spec.h"

struct plag_record;

/* A capture and its truth (JSON), terminated. Start zero-initialised. */
typedef struct made_capture {
  plag_text capture;
  plag_text truth;
} made_capture;

/* Makes what was ordered; on failure prints why, with the order's fault and seed, and returns
 * false. What was there before is forgotten. */
bool made_capture_make(made_capture *made, const platelag_practice_order *order);

/* The same of a record (practice/order.h), for many layouts of one drive; without a truth. */
bool made_capture_of(made_capture *made, const struct plag_record *record, const char *layout);

/* Makes it and writes it to `path`. */
bool made_capture_write(const platelag_practice_order *order, const char *path);

void made_capture_clear(made_capture *made);

/* The number behind the first `"key":` after the first `"object":` of the truth ("": anywhere); NaN
 * for null, and when there is none. */
double made_capture_truth(const made_capture *made, const char *object, const char *key);

/* The stops that the truth gives, read from a spec file to 0.05 V; without stops when not `given`.
 * Fails the test when it cannot be made; the caller destroys it. */
platelag_spec *made_capture_spec(const made_capture *made, bool given);

#endif
