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
#include "fleet/conditions.h"
#include "fleet/known_words.h"
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

/* --- opening --------------------------------------------------------------------------------- */

static platelag_status take_whole(void *context, const plag_value *cell, size_t count,
                                  platelag_error *error) {
  (void)count;
  (void)error;
  *(int64_t *)context = plag_value_whole(&cell[0]);
  return PLATELAG_OK;
}

/* Several machines may set up one store at the same moment: the row of the schema's number is put
 * in by whoever comes first. */
static platelag_status set_up(platelag_fleet_store *store, const char *name,
                              platelag_error *error) {
  int64_t schema = 0;
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < PLAG_STORE_TABLES && status == PLATELAG_OK; i++)
    status = run(store, plag_store_tables[i], NULL, 0, error);
  const plag_value ours[] = {plag_whole(PLAG_STORE_SCHEMA)};
  if (status == PLATELAG_OK)
    status = run(store,
                 "INSERT INTO store (name, value) VALUES ('schema', $1) ON CONFLICT (name) DO "
                 "NOTHING",
                 ours, 1, error);
  if (status == PLATELAG_OK)
    status = plag_database_run(store->database, "SELECT value FROM store WHERE name = 'schema'",
                               NULL, 0, take_whole, &schema, error);
  if (status == PLATELAG_OK && schema != PLAG_STORE_SCHEMA)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, plag_database_is_url(name) ? NULL : name, 0,
                          0, "a store of layout %lld, this platelag knows %d; use a newer one",
                          (long long)schema, PLAG_STORE_SCHEMA);
  return status;
}

platelag_status platelag_fleet_store_open(const char *name, bool create, platelag_fleet_store **out,
                                          platelag_error *error) {
  *out = NULL;
  platelag_fleet_store *store = calloc(1, sizeof *store);
  if (store == NULL)
    return plag_error_memory(error, "the store");
  (void)pthread_mutex_init(&store->lock, NULL);
  platelag_status status = plag_database_is_url(name)
                               ? plag_database_open_postgres(name, &store->database, error)
                               : plag_database_open_sqlite(name, create, &store->database, error);
  if (status == PLATELAG_OK)
    status = set_up(store, name, error);
  if (status == PLATELAG_OK)
    *out = store;
  else
    platelag_fleet_store_close(store);
  return status;
}

void platelag_fleet_store_close(platelag_fleet_store *store) {
  if (store == NULL)
    return;
  plag_database_close(store->database);
  (void)pthread_mutex_destroy(&store->lock);
  free(store);
}

/* --- asking ---------------------------------------------------------------------------------- */

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
  const plag_value asked[] = {plag_string(path)};
  seen_question question = {place, out};
  *out = (plag_seen){0};
  (void)pthread_mutex_lock(&store->lock);
  const platelag_status status =
      plag_database_run(store->database, sql, asked, 1, take_seen, &question, error);
  (void)pthread_mutex_unlock(&store->lock);
  return status;
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
  const plag_value asked[] = {plag_string(key)};
  content_question question = {settings, out};
  *out = (plag_content){0};
  (void)pthread_mutex_lock(&store->lock);
  const platelag_status status =
      plag_database_run(store->database, sql, asked, 1, take_content, &question, error);
  (void)pthread_mutex_unlock(&store->lock);
  return status;
}

/* --- writing --------------------------------------------------------------------------------- */

static platelag_status put_content(platelag_fleet_store *store, const plag_result *r,
                                   platelag_error *error) {
  static const char sql[] =
      "INSERT INTO capture (" CAPTURE_COLUMNS ") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) "
      "ON CONFLICT (key) DO UPDATE SET program = excluded.program, settings = excluded.settings, "
      "state = excluded.state, why = excluded.why, row_count = excluded.row_count, "
      "duration_s = excluded.duration_s, started_unix_s = excluded.started_unix_s";
  const plag_value row[] = {plag_string(r->key),
                            plag_whole(r->bytes),
                            plag_string(PLATELAG_VERSION),
                            plag_string(r->settings),
                            plag_string(r->state == PLAG_RESULT_REFUSED ? "refused" : "judged"),
                            plag_string(r->why),
                            plag_whole(r->rows),
                            plag_real(r->duration_s),
                            r->started_known ? plag_whole(r->started_unix_s)
                                             : (plag_value){.kind = PLAG_VALUE_NULL}};
  const plag_value key[] = {plag_string(r->key)};
  platelag_status status = run(store, sql, row, sizeof row / sizeof row[0], error);
  if (status == PLATELAG_OK)
    status = run(store, "DELETE FROM judged WHERE key = $1", key, 1, error);
  if (status == PLATELAG_OK)
    status = run(store, "DELETE FROM figure WHERE key = $1", key, 1, error);
  return status;
}

static platelag_status put_figure(platelag_fleet_store *store, const plag_result *r,
                                  const plag_judged *judged, size_t index, platelag_error *error) {
  static const char sql[] = "INSERT INTO figure (" FIGURE_COLUMNS ") VALUES "
                            "($1, $2, $3, $4, $5, $6, $7, $8)";
  const platelag_estimate *figure = &judged->figure[index];
  if (figure->known == PLATELAG_KNOWN_NOTHING)
    return PLATELAG_OK;
  const plag_value row[] = {plag_string(r->key),
                            plag_whole(judged->run),
                            plag_string(judged->valve),
                            plag_string(platelag_fleet_figure_at(index)->key),
                            plag_string(plag_known_word(figure->known)),
                            plag_real(figure->value),
                            plag_real(figure->low),
                            plag_real(figure->high)};
  return run(store, sql, row, sizeof row / sizeof row[0], error);
}

static platelag_status put_judged(platelag_fleet_store *store, const plag_result *r,
                                  const plag_judged *judged, platelag_error *error) {
  static const char sql[] = "INSERT INTO judged (" JUDGED_COLUMNS ") VALUES "
                            "($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)";
  const plag_value row[] = {plag_string(r->key),
                            plag_whole(judged->run),
                            plag_string(judged->valve),
                            plag_string(judged->run_label),
                            plag_string(platelag_finding_name(judged->finding)),
                            plag_string(platelag_family_name(judged->family)),
                            plag_real(judged->finding_probability),
                            plag_real(judged->probability[PLATELAG_FAMILY_FREE]),
                            plag_real(judged->probability[PLATELAG_FAMILY_MECHANICAL]),
                            plag_real(judged->probability[PLATELAG_FAMILY_SENSOR_CIRCUIT]),
                            plag_real(judged->probability[PLATELAG_FAMILY_DRIVE]),
                            plag_string(judged->sentence),
                            plag_string(judged->next_test)};
  platelag_status status = run(store, sql, row, sizeof row / sizeof row[0], error);
  for (size_t i = 0; i < PLAG_FIGURE_COUNT && status == PLATELAG_OK; i++)
    status = put_figure(store, r, judged, i, error);
  return status;
}

static platelag_status put_seen(platelag_fleet_store *store, const plag_result *r,
                                platelag_error *error) {
  static const char sql[] =
      "INSERT INTO seen (" SEEN_COLUMNS ") VALUES ($1, $2, $3, $4, $5, $6, $7, $8) "
      "ON CONFLICT (path) DO UPDATE SET key = excluded.key, bytes = excluded.bytes, "
      "modified_ns = excluded.modified_ns, vehicle = excluded.vehicle, engine = excluded.engine, "
      "at_unix_s = excluded.at_unix_s, condition = excluded.condition";
  const plag_value row[] = {plag_string(r->path),
                            plag_string(r->key),
                            plag_whole(r->bytes),
                            plag_whole(r->modified_ns),
                            plag_string(r->place.vehicle),
                            plag_string(r->place.engine),
                            r->place.dated ? plag_whole(r->place.at_unix_s)
                                           : (plag_value){.kind = PLAG_VALUE_NULL},
                            plag_string(platelag_condition_name(r->place.condition))};
  platelag_status status = run(store, sql, row, sizeof row / sizeof row[0], error);
  if (status == PLATELAG_OK)
    status = run(store, "DELETE FROM trouble WHERE path = $1", row, 1, error);
  return status;
}

static platelag_status put_trouble(platelag_fleet_store *store, const plag_result *r,
                                   platelag_error *error) {
  static const char sql[] = "INSERT INTO trouble (" TROUBLE_COLUMNS ") VALUES ($1, $2) "
                            "ON CONFLICT (path) DO UPDATE SET why = excluded.why";
  const plag_value row[] = {plag_string(r->path), plag_string(r->why)};
  return run(store, sql, row, 2, error);
}

static platelag_status put_rows(platelag_fleet_store *store, const plag_result *r,
                                platelag_error *error) {
  if (r->state == PLAG_RESULT_ELSEWHERE || (r->state == PLAG_RESULT_KNOWN && !r->place_is_new))
    return PLATELAG_OK;
  if (r->state == PLAG_RESULT_TROUBLED)
    return put_trouble(store, r, error);
  platelag_status status = PLATELAG_OK;
  if (r->state != PLAG_RESULT_KNOWN)
    status = put_content(store, r, error);
  for (size_t i = 0; i < r->judged_count && status == PLATELAG_OK; i++)
    status = put_judged(store, r, &r->judged[i], error);
  return status == PLATELAG_OK ? put_seen(store, r, error) : status;
}

/* The lock is held. */
static platelag_status commit(platelag_fleet_store *store, platelag_error *error) {
  if (!store->open)
    return PLATELAG_OK;
  store->open = false;
  store->pending = 0;
  return run(store, "COMMIT", NULL, 0, error);
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

platelag_status plag_store_put(platelag_fleet_store *store, const plag_result *result,
                               platelag_error *error) {
  (void)pthread_mutex_lock(&store->lock);
  platelag_status status = begin(store, error);
  if (status == PLATELAG_OK)
    status = put_rows(store, result, error);
  if (status == PLATELAG_OK && ++store->pending >= store->database->kind->batch)
    status = commit(store, error);
  status = give_up(store, status);
  (void)pthread_mutex_unlock(&store->lock);
  return status;
}

platelag_status plag_store_commit(platelag_fleet_store *store, platelag_error *error) {
  (void)pthread_mutex_lock(&store->lock);
  const platelag_status status = give_up(store, commit(store, error));
  (void)pthread_mutex_unlock(&store->lock);
  return status;
}

static platelag_status put_repair(platelag_fleet_store *store, const plag_manifest_row *of,
                                  platelag_error *error) {
  static const char sql[] = "INSERT INTO repair (" REPAIR_COLUMNS ") VALUES ($1, $2, $3, $4) "
                            "ON CONFLICT (vehicle, valve, at_unix_s, what) DO NOTHING";
  const plag_value row[] = {plag_string(of->vehicle), plag_string(of->valve),
                            plag_whole(of->at_unix_s), plag_string(of->repair)};
  return run(store, sql, row, sizeof row / sizeof row[0], error);
}

platelag_status plag_store_put_repairs(platelag_fleet_store *store, const plag_manifest *manifest,
                                       platelag_error *error) {
  if (!manifest->tells_repairs)
    return PLATELAG_OK;
  (void)pthread_mutex_lock(&store->lock);
  platelag_status status = begin(store, error);
  if (status == PLATELAG_OK)
    status = run(store, "DELETE FROM repair", NULL, 0, error);
  for (size_t i = 0; i < manifest->row_count && status == PLATELAG_OK; i++)
    if (manifest->row[i].repair[0] != '\0')
      status = put_repair(store, &manifest->row[i], error);
  if (status == PLATELAG_OK)
    status = commit(store, error);
  status = give_up(store, status);
  (void)pthread_mutex_unlock(&store->lock);
  return status;
}

platelag_status plag_store_forget_orphans(platelag_fleet_store *store, platelag_error *error) {
  static const char *const sql[] = {"DELETE FROM figure WHERE key NOT IN (SELECT key FROM seen)",
                                    "DELETE FROM judged WHERE key NOT IN (SELECT key FROM seen)",
                                    "DELETE FROM capture WHERE key NOT IN (SELECT key FROM seen)"};
  (void)pthread_mutex_lock(&store->lock);
  platelag_status status = begin(store, error);
  for (size_t i = 0; i < sizeof sql / sizeof sql[0] && status == PLATELAG_OK; i++)
    status = run(store, sql[i], NULL, 0, error);
  if (status == PLATELAG_OK)
    status = commit(store, error);
  status = give_up(store, status);
  (void)pthread_mutex_unlock(&store->lock);
  return status;
}

typedef struct path_question {
  platelag_fleet_place *out;
  size_t found; /* keys */
} path_question;

static platelag_status take_path(void *context, const plag_value *cell, size_t count,
                                 platelag_error *error) {
  path_question *q = context;
  const char *condition = plag_value_text(&cell[2]);
  (void)count;
  (void)error;
  if (q->found > 0 && strcmp(q->out->key, plag_value_text(&cell[0])) == 0)
    return PLATELAG_OK;
  if (q->found++ > 0)
    return PLATELAG_OK;
  (void)snprintf(q->out->key, sizeof q->out->key, "%s", plag_value_text(&cell[0]));
  (void)snprintf(q->out->path, sizeof q->out->path, "%s", plag_value_text(&cell[1]));
  (void)plag_condition_read(condition, strlen(condition), &q->out->condition);
  return PLATELAG_OK;
}

platelag_status platelag_fleet_store_find(platelag_fleet_store *store, const char *key,
                                          platelag_fleet_place *out, platelag_error *error) {
  static const char sql[] = "SELECT key, path, condition FROM seen WHERE key >= $1 @C AND "
                            "key < $2 @C ORDER BY key @C, path @C LIMIT 1000";
  char beyond[sizeof out->key + 1];
  (void)snprintf(beyond, sizeof beyond, "%s~", key); /* behind every digit and letter of a key */
  const plag_value asked[] = {plag_string(key), plag_string(beyond)};
  path_question question = {out, 0};
  *out = (platelag_fleet_place){0};
  const platelag_status status =
      plag_database_run(store->database, sql, asked, 2, take_path, &question, error);
  if (status != PLATELAG_OK || question.found == 1)
    return status;
  return question.found == 0
             ? plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, NULL, 0, 0,
                              "the store knows no capture \"%s\"", key)
             : plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                              "%zu captures have a key that begins with \"%s\"; give more of it",
                              question.found, key);
}
