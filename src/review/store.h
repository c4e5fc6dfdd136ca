/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a review owns, and how it is given back. */
#ifndef PLAG_REVIEW_STORE_H
#define PLAG_REVIEW_STORE_H

#include "core/arena.h"
#include "platelag/review.h"

typedef struct plag_review_store {
  platelag_review review;     /* what is given out; its store is this */
  plag_arena arena;           /* names and the lists of valves */
  platelag_spec *own_spec;    /* made here when the caller gave none */
  platelag_capture **capture; /* each once, however many runs it has */
  size_t capture_count, capture_room;
  platelag_review_capture *entry;
  size_t entry_room;
  platelag_case **cases;
  size_t case_room;
} plag_review_store;

/* Adds a capture, an entry, a case; false without memory, and the object then stays the caller's.
 */
bool plag_review_keep_capture(plag_review_store *store, platelag_capture *capture);
bool plag_review_add_entry(plag_review_store *store, const platelag_review_capture *entry);
bool plag_review_add_case(plag_review_store *store, platelag_case *judged);

/* Destroys the valves of an entry. Traces lend from captures: before those go. */
void plag_review_drop_valves(platelag_review_capture *entry);

#endif
