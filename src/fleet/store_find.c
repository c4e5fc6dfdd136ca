/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture of the store by its key, as a person gives it: whole, or the front of it. */
#include <stdio.h>
#include <string.h>

#include "core/error.h"
#include "fleet/conditions.h"
#include "fleet/store.h"

typedef struct path_question {
  const char *key; /* or the front of one */
  platelag_fleet_place *out;
  size_t found; /* keys */
  char last_key[sizeof((platelag_fleet_place *)0)->key];
  bool exact; /* a whole key may be the front of another: that of the content taken otherwise */
} path_question;

/* Rows come in order of key: the first path of the first key is the answer. */
static platelag_status take_path(void *context, const plag_value *cell, size_t count,
                                 platelag_error *error) {
  path_question *q = context;
  const char *key = plag_value_text(&cell[0]);
  const char *condition = plag_value_text(&cell[2]);
  (void)count;
  (void)error;
  if (q->exact || strcmp(q->last_key, key) == 0)
    return PLATELAG_OK;
  (void)snprintf(q->last_key, sizeof q->last_key, "%s", key);
  if (q->found++ > 0)
    return PLATELAG_OK;
  q->exact = strcmp(q->key, key) == 0;
  (void)snprintf(q->out->key, sizeof q->out->key, "%s", key);
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
  path_question question = {.key = key, .out = out};
  *out = (platelag_fleet_place){0};
  const platelag_status status =
      plag_database_run(plag_store_database(store), sql, asked, 2, take_path, &question, error);
  if (status != PLATELAG_OK || question.found == 1)
    return status;
  return question.found == 0
             ? plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, NULL, 0, 0,
                              "the store knows no capture \"%s\"", key)
             : plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                              "%zu captures have a key that begins with \"%s\"; give more of it",
                              question.found, key);
}
