/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The store: rows in and out, in transactions of whole captures. A lock of its own lets several
 * workers ask; what they ask for is small. */
#include "fleet/store.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "fleet/store_rows.h"
#include "fleet/store_statements.h"

struct platelag_fleet_store {
  plag_database *database;
  pthread_mutex_t lock;
  size_t pending; /* captures in the open transaction */
  bool open;      /* a transaction is */
};

plag_database *plag_store_database(platelag_fleet_store *store) {
  return store->database;
}

static platelag_status run(platelag_fleet_store *store, const char *sql, const plag_value *value,
                           size_t count, platelag_error *error) {
  return plag_database_run(store->database, sql, value, count, NULL, NULL, error);
}

/* --- transactions, under the lock ------------------------------------------------------------ */

static platelag_status commit(platelag_fleet_store *store, platelag_error *error) {
  if (!store->open)
    return PLATELAG_OK;
  const platelag_status status = run(store, "COMMIT", NULL, 0, error);
  store->open = status != PLATELAG_OK;
  store->pending = 0;
  return status;
}

static platelag_status begin(platelag_fleet_store *store, platelag_error *error) {
  if (store->open)
    return PLATELAG_OK;
  const platelag_status status = run(store, "BEGIN", NULL, 0, error);
  store->open = status == PLATELAG_OK;
  return status;
}

/* A failure gives up the open transaction: captures in it are judged again by the next run. */
static platelag_status give_up(platelag_fleet_store *store, platelag_status status) {
  platelag_error nothing = {0};
  if (status != PLATELAG_OK && store->open) {
    (void)run(store, "ROLLBACK", NULL, 0, &nothing);
    store->open = false;
    store->pending = 0;
  }
  return status;
}

/* The end of a call that writes. */
static platelag_status leave(platelag_fleet_store *store, platelag_status status) {
  status = give_up(store, status);
  (void)pthread_mutex_unlock(&store->lock);
  return status;
}

/* In a transaction on a shared store: those that ask for their turn come one after the other. */
static platelag_status wait_turn(platelag_fleet_store *store, platelag_error *error) {
  const char *sql = store->database->kind->wait_turn;
  return sql != NULL ? run(store, sql, NULL, 0, error) : PLATELAG_OK;
}

/* --- opening --------------------------------------------------------------------------------- */

static platelag_status take_whole(void *context, const plag_value *cell, size_t count,
                                  platelag_error *error) {
  (void)count;
  (void)error;
  *(int64_t *)context = plag_value_whole(&cell[0]);
  return PLATELAG_OK;
}

/* Before anything else is touched: a store of a newer layout stays as it is. `*ready`: it was set
 * up before, whole, for that is one transaction. */
static platelag_status check_layout(platelag_fleet_store *store, const char *name, bool *ready,
                                    platelag_error *error) {
  static const char ask[] = "SELECT value FROM store WHERE name = 'schema'";
  int64_t schema = 0;
  const platelag_status status =
      plag_database_run(store->database, ask, NULL, 0, take_whole, &schema, error);
  *ready = schema == PLAG_STORE_SCHEMA;
  if (status == PLATELAG_OK && schema != 0 && !*ready)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, plag_database_is_url(name) ? NULL : name, 0,
                          0, "a store of layout %lld, this platelag knows %d; use a newer one",
                          (long long)schema, PLAG_STORE_SCHEMA);
  return status;
}

static platelag_status make_tables(platelag_fleet_store *store, platelag_error *error) {
  static const char put[] = "INSERT INTO store (name, value) VALUES ('schema', $1)";
  const plag_value ours[] = {plag_whole(PLAG_STORE_SCHEMA)};
  platelag_status status = PLATELAG_OK;
  for (size_t i = 1; i < PLAG_STORE_TABLES && status == PLATELAG_OK; i++)
    status = run(store, plag_store_tables[i], NULL, 0, error);
  return status == PLATELAG_OK ? run(store, put, ours, 1, error) : status;
}

/* Several machines may set up one store at the same moment: the first does, the others wait. A
 * store that is ready is left alone: a server locks a table even to find that its index is there,
 * and others are writing. */
static platelag_status set_up(platelag_fleet_store *store, const char *name,
                              platelag_error *error) {
  bool ready = false;
  platelag_status status = begin(store, error);
  if (status == PLATELAG_OK)
    status = wait_turn(store, error);
  if (status == PLATELAG_OK)
    status = run(store, plag_store_tables[0], NULL, 0, error);
  if (status == PLATELAG_OK)
    status = check_layout(store, name, &ready, error);
  if (status == PLATELAG_OK && !ready)
    status = make_tables(store, error);
  if (status == PLATELAG_OK)
    status = commit(store, error);
  return give_up(store, status);
}

/* A store that is only read must be there, whole. */
static platelag_status check_ready(platelag_fleet_store *store, const char *name,
                                   platelag_error *error) {
  bool ready = false;
  const platelag_status status = check_layout(store, name, &ready, error);
  if (status == PLATELAG_OK && !ready)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, plag_database_is_url(name) ? NULL : name, 0,
                          0, "the store holds nothing yet");
  return status;
}

static platelag_status open_database(const char *name, bool create, bool to_read,
                                     plag_database **out, platelag_error *error) {
  if (plag_database_is_url(name))
    return plag_database_open_postgres(name, to_read, out, error);
  return to_read ? plag_database_open_sqlite_to_read(name, out, error)
                 : plag_database_open_sqlite(name, create, out, error);
}

static platelag_status open_store(const char *name, bool create, bool to_read,
                                  platelag_fleet_store **out, platelag_error *error) {
  *out = NULL;
  platelag_fleet_store *store = calloc(1, sizeof *store);
  if (store == NULL)
    return plag_error_memory(error, "the store");
  (void)pthread_mutex_init(&store->lock, NULL);
  platelag_status status = open_database(name, create, to_read, &store->database, error);
  if (status == PLATELAG_OK)
    status = to_read ? check_ready(store, name, error) : set_up(store, name, error);
  if (status == PLATELAG_OK)
    *out = store;
  else
    platelag_fleet_store_close(store);
  return status;
}

platelag_status platelag_fleet_store_open(const char *name, bool create, platelag_fleet_store **out,
                                          platelag_error *error) {
  return open_store(name, create, false, out, error);
}

platelag_status platelag_fleet_store_open_to_read(const char *name, platelag_fleet_store **out,
                                                  platelag_error *error) {
  return open_store(name, false, true, out, error);
}

void platelag_fleet_store_close(platelag_fleet_store *store) {
  if (store == NULL)
    return;
  plag_database_close(store->database);
  (void)pthread_mutex_destroy(&store->lock);
  free(store);
}

/* --- asking ---------------------------------------------------------------------------------- */

platelag_status plag_store_ask(platelag_fleet_store *store, const char *sql, const char *about,
                               plag_take_row *take, void *context, platelag_error *error) {
  const plag_value value[] = {plag_string(about)};
  (void)pthread_mutex_lock(&store->lock);
  const platelag_status status =
      plag_database_run(store->database, sql, value, 1, take, context, error);
  (void)pthread_mutex_unlock(&store->lock);
  return status;
}

typedef struct seen_question {
  const plag_place *place;
  plag_seen *out;
} seen_question;

static platelag_status take_seen(void *context, const plag_value *cell, size_t count,
                                 platelag_error *error) {
  const seen_question *q = context;
  const plag_place *place = q->place;
  (void)count;
  (void)error;
  q->out->found = true;
  (void)snprintf(q->out->key, sizeof q->out->key, "%s", plag_value_text(&cell[0]));
  q->out->bytes = plag_value_whole(&cell[1]);
  q->out->modified_ns = plag_value_whole(&cell[2]);
  const bool dated = cell[5].kind == PLAG_VALUE_WHOLE;
  q->out->same_place =
      strcmp(plag_value_text(&cell[3]), place->vehicle) == 0 &&
      strcmp(plag_value_text(&cell[4]), place->engine) == 0 && dated == place->dated &&
      (!dated || plag_value_whole(&cell[5]) == place->at_unix_s) &&
      strcmp(plag_value_text(&cell[6]), platelag_condition_name(place->condition)) == 0;
  q->out->troubled = cell[7].kind != PLAG_VALUE_NULL;
  return PLATELAG_OK;
}

platelag_status plag_store_find_seen(platelag_fleet_store *store, const char *path,
                                     const plag_place *place, plag_seen *out,
                                     platelag_error *error) {
  static const char sql[] =
      "SELECT seen.key, seen.bytes, seen.modified_ns, seen.vehicle, seen.engine, seen.at_unix_s, "
      "seen.condition, trouble.path FROM seen LEFT JOIN trouble ON trouble.path = seen.path "
      "WHERE seen.path = $1";
  seen_question question = {place, out};
  *out = (plag_seen){0};
  return plag_store_ask(store, sql, path, take_seen, &question, error);
}

typedef struct content_question {
  const char *settings;
  plag_content *out;
} content_question;

static platelag_status take_content(void *context, const plag_value *cell, size_t count,
                                    platelag_error *error) {
  const content_question *q = context;
  (void)count;
  (void)error;
  q->out->found = true;
  q->out->current = strcmp(plag_value_text(&cell[0]), PLATELAG_VERSION) == 0 &&
                    strcmp(plag_value_text(&cell[1]), q->settings) == 0;
  return PLATELAG_OK;
}

platelag_status plag_store_find_content(platelag_fleet_store *store, const char *key,
                                        const char *settings, plag_content *out,
                                        platelag_error *error) {
  static const char sql[] = "SELECT program, settings FROM capture WHERE key = $1";
  content_question question = {settings, out};
  *out = (plag_content){0};
  return plag_store_ask(store, sql, key, take_content, &question, error);
}

/* --- writing --------------------------------------------------------------------------------- */

platelag_status plag_store_put(platelag_fleet_store *store, const plag_result *result,
                               platelag_error *error) {
  if (result->state == PLAG_RESULT_KNOWN && !result->place_is_new)
    return PLATELAG_OK; /* nothing to write */
  (void)pthread_mutex_lock(&store->lock);
  platelag_status status = begin(store, error);
  if (status == PLATELAG_OK)
    status = plag_store_put_rows(store->database, result, error);
  if (status == PLATELAG_OK && ++store->pending >= store->database->kind->batch)
    status = commit(store, error);
  return leave(store, status);
}

platelag_status plag_store_commit(platelag_fleet_store *store, platelag_error *error) {
  (void)pthread_mutex_lock(&store->lock);
  return leave(store, commit(store, error));
}

static platelag_status put_repair(platelag_fleet_store *store, plag_repair_row of,
                                  platelag_error *error) {
  static const char sql[] = "INSERT INTO repair (" REPAIR_COLUMNS ") VALUES ($1, $2, $3, $4) "
                            "ON CONFLICT (vehicle, valve, at_unix_s, what) DO NOTHING";
  const plag_value row[] = {plag_string(of.vehicle), plag_string(of.valve),
                            plag_whole(of.at_unix_s), plag_string(of.what)};
  return run(store, sql, row, sizeof row / sizeof row[0], error);
}

platelag_status plag_store_put_repairs(platelag_fleet_store *store, const plag_manifest *manifest,
                                       platelag_error *error) {
  if (!manifest->tells_repairs)
    return PLATELAG_OK;
  (void)pthread_mutex_lock(&store->lock);
  platelag_status status = begin(store, error);
  if (status == PLATELAG_OK)
    status = wait_turn(store, error);
  if (status == PLATELAG_OK)
    status = run(store, "DELETE FROM repair", NULL, 0, error);
  for (size_t i = 0; i < manifest->repair_count && status == PLATELAG_OK; i++)
    status = put_repair(store, plag_manifest_repair_at(manifest, i), error);
  if (status == PLATELAG_OK)
    status = commit(store, error);
  return leave(store, status);
}

platelag_status plag_store_forget_orphans(platelag_fleet_store *store, platelag_error *error) {
  static const char *const sql[] = {"DELETE FROM figure WHERE key NOT IN (SELECT key FROM seen)",
                                    "DELETE FROM judged WHERE key NOT IN (SELECT key FROM seen)",
                                    "DELETE FROM capture WHERE key NOT IN (SELECT key FROM seen)"};
  (void)pthread_mutex_lock(&store->lock);
  platelag_status status = begin(store, error);
  if (status == PLATELAG_OK)
    status = wait_turn(store, error);
  for (size_t i = 0; i < sizeof sql / sizeof sql[0] && status == PLATELAG_OK; i++)
    status = run(store, sql[i], NULL, 0, error);
  if (status == PLATELAG_OK)
    status = commit(store, error);
  return leave(store, status);
}
