/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the store keeps: captures by their content, where they were seen, what was judged, repairs.
 * Calls may come from several threads. */
#ifndef PLAG_FLEET_STORE_H
#define PLAG_FLEET_STORE_H

#include "fleet/database.h"
#include "fleet/manifest.h"
#include "fleet/result.h"

/* What the store knows of a path. */
typedef struct plag_seen {
  bool found;
  char key[PLAG_KEY_BYTES];
  int64_t bytes, modified_ns;
  bool same_place; /* as the one asked with */
  bool troubled;   /* a line of trouble stands for it */
} plag_seen;

/* What the store knows of a content. */
typedef struct plag_content {
  bool found;
  bool current; /* judged by this version with these settings */
} plag_content;

platelag_status plag_store_find_seen(platelag_fleet_store *store, const char *path,
                                     const plag_place *place, plag_seen *out,
                                     platelag_error *error);
platelag_status plag_store_find_content(platelag_fleet_store *store, const char *key,
                                        const char *settings, plag_content *out,
                                        platelag_error *error);

/* Gathers into `result->gone` the other paths of its content at which nothing lies any more. */
platelag_status plag_store_find_gone(platelag_fleet_store *store, plag_result *result,
                                     platelag_error *error);

/* A question about one text; `take` is called under the store's lock. */
platelag_status plag_store_ask(platelag_fleet_store *store, const char *sql, const char *about,
                               plag_take_row *take, void *context, platelag_error *error);

/* Puts a result in, all of it or nothing; for good with the next commit, which comes by itself
 * every so many results. */
platelag_status plag_store_put(platelag_fleet_store *store, const plag_result *result,
                               platelag_error *error);
platelag_status plag_store_commit(platelag_fleet_store *store, platelag_error *error);

/* Replaces all repairs by those of the manifest; one without a column for them changes nothing. */
platelag_status plag_store_put_repairs(platelag_fleet_store *store, const plag_manifest *manifest,
                                       platelag_error *error);

/* Forgets results that no path leads to any more: what a file held before it changed. */
platelag_status plag_store_forget_orphans(platelag_fleet_store *store, platelag_error *error);

/* Forgets troubles of files that are gone and of folders that open again; at the begin of a run,
 * before workers ask. */
platelag_status plag_store_forget_troubles(platelag_fleet_store *store, platelag_error *error);

plag_database *plag_store_database(platelag_fleet_store *store);

#endif
