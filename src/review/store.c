/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "review/store.h"

#include <stdlib.h>

#include "core/array.h"

bool plag_review_keep_capture(plag_review_store *store, platelag_capture *capture) {
  if (!plag_array_reserve((void **)&store->capture, &store->capture_room, store->capture_count + 1,
                          sizeof(platelag_capture *)))
    return false;
  store->capture[store->capture_count++] = capture;
  return true;
}

bool plag_review_add_entry(plag_review_store *store, const platelag_review_capture *entry) {
  if (!plag_array_reserve((void **)&store->entry, &store->entry_room,
                          store->review.capture_count + 1, sizeof *store->entry))
    return false;
  store->entry[store->review.capture_count++] = *entry;
  store->review.capture = store->entry;
  return true;
}

bool plag_review_add_case(plag_review_store *store, platelag_case *judged) {
  if (!plag_array_reserve((void **)&store->cases, &store->case_room, store->review.case_count + 1,
                          sizeof(platelag_case *)))
    return false;
  store->cases[store->review.case_count++] = judged;
  store->review.cases = (const platelag_case *const *)store->cases;
  return true;
}

void plag_review_drop_valves(platelag_review_capture *entry) {
  for (size_t i = 0; i < entry->valve_count; i++) {
    platelag_finding_destroy((platelag_finding *)entry->valve[i].finding);
    platelag_fit_destroy((platelag_fit *)entry->valve[i].fit);
    platelag_trace_destroy((platelag_trace *)entry->valve[i].trace);
  }
  entry->valve_count = 0;
  entry->valve = NULL;
}

void platelag_review_destroy(platelag_review *review) {
  if (review == NULL)
    return;
  plag_review_store *store = review->store;
  for (size_t i = 0; i < review->case_count; i++)
    platelag_case_destroy(store->cases[i]);
  for (size_t i = 0; i < review->capture_count; i++)
    plag_review_drop_valves(&store->entry[i]);
  for (size_t i = 0; i < store->capture_count; i++)
    platelag_capture_destroy(store->capture[i]);
  free(store->cases);
  free(store->entry);
  free(store->capture);
  platelag_spec_destroy(store->own_spec);
  plag_arena_clear(&store->arena);
  free(store);
}
