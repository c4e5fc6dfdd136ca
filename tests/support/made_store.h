/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stores filled by hand, for tests of what a fleet's logs come to. */
#ifndef PLATELAG_TESTS_MADE_STORE_H
#define PLATELAG_TESTS_MADE_STORE_H

#include "core/text.h"
#include "fleet/store.h"
#include "support/scratch.h"

/* One log of one valve. NULL and 0 are the value in brackets. */
typedef struct plag_test_log {
  const char *vehicle;   /* [none: the path stands for it] */
  const char *date;      /* "2026-03-14" [none] */
  const char *finding;   /* the key ["free"] */
  const char *family;    /* ["free", "undecided" for another finding] */
  double probability;    /* of finding and family [0.9] */
  double stick_band_pct; /* with 0.4 % each way [none] */
  const char *condition; /* ["road"] */
  const char *engine;    /* [""] */
  const char *valve;     /* ["valve"] */
  const char *label;     /* of the run [""] */
  const char *path;      /* [one made of the log's number] */
  const char *content;   /* what the key is made from [the path] */
  double closing_t63_s;  /* with 0.05 s each way [none] */
  double span_v;         /* with 0.03 V each way [none] */
} plag_test_log;

typedef struct plag_test_store {
  plag_test_scratch scratch;
  platelag_fleet_store *store;
  size_t put; /* logs so far */
} plag_test_store;

/* A new store in a file. */
void plag_test_store_open(plag_test_store *made);
void plag_test_store_close(plag_test_store *made);

/* A test that finds `made`, a plag_test_store *, open and empty. */
#define plag_test_on_store(test, made)                                                             \
  cmocka_unit_test_prestate_setup_teardown(test, plag_test_store_set_up, plag_test_store_clear,    \
                                           made)
int plag_test_store_set_up(void **state);
int plag_test_store_clear(void **state);

/* Puts `count` logs in and commits. */
void plag_test_store_put(plag_test_store *made, const plag_test_log *log, size_t count);

/* Repairs, as a manifest tells them: "2026-03-14,17,bank 1,plates cleaned\n", a line each. */
void plag_test_store_repair(plag_test_store *made, const char *lines);

/* The first cell of what a statement finds, as a whole number. Statements are known by their
 * address: `sql` must be a literal. */
int64_t plag_test_store_count(plag_test_store *made, const char *sql);

#endif
