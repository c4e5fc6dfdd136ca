/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/store_rows.h"

#include "fleet/known_words.h"
#include "fleet/store_statements.h"

static platelag_status run(plag_database *database, const char *sql, const plag_value *value,
                           size_t count, platelag_error *error) {
  return plag_database_run(database, sql, value, count, NULL, NULL, error);
}

static platelag_status put_content(plag_database *database, const plag_result *r,
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
  platelag_status status = run(database, sql, row, sizeof row / sizeof row[0], error);
  if (status == PLATELAG_OK)
    status = run(database, "DELETE FROM judged WHERE key = $1", key, 1, error);
  if (status == PLATELAG_OK)
    status = run(database, "DELETE FROM figure WHERE key = $1", key, 1, error);
  return status;
}

static platelag_status put_figure(plag_database *database, const plag_result *r,
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
  return run(database, sql, row, sizeof row / sizeof row[0], error);
}

static platelag_status put_judged(plag_database *database, const plag_result *r,
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
  platelag_status status = run(database, sql, row, sizeof row / sizeof row[0], error);
  for (size_t i = 0; i < PLAG_FIGURE_COUNT && status == PLATELAG_OK; i++)
    status = put_figure(database, r, judged, i, error);
  return status;
}

static platelag_status put_seen(plag_database *database, const plag_result *r,
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
  platelag_status status = run(database, sql, row, sizeof row / sizeof row[0], error);
  if (status == PLATELAG_OK)
    status = run(database, "DELETE FROM trouble WHERE path = $1", row, 1, error);
  for (size_t i = 0; i < r->gone_count && status == PLATELAG_OK; i++) {
    const plag_value gone[] = {plag_string(r->gone[i]), plag_string(r->key)};
    status = run(database, "DELETE FROM seen WHERE path = $1 AND key = $2", gone, 2, error);
  }
  return status;
}

static platelag_status put_trouble(plag_database *database, const plag_result *r,
                                   platelag_error *error) {
  static const char sql[] = "INSERT INTO trouble (" TROUBLE_COLUMNS ") VALUES ($1, $2) "
                            "ON CONFLICT (path) DO UPDATE SET why = excluded.why";
  const plag_value row[] = {plag_string(r->path), plag_string(r->why)};
  return run(database, sql, row, 2, error);
}

/* What this file held before it changed may have been ours; from now on another shard tells of it.
 */
static platelag_status forget_path(plag_database *database, const plag_result *r,
                                   platelag_error *error) {
  const plag_value row[] = {plag_string(r->path), plag_string(r->key)};
  const platelag_status status =
      run(database, "DELETE FROM seen WHERE path = $1 AND key <> $2", row, 2, error);
  return status == PLATELAG_OK ? run(database, "DELETE FROM trouble WHERE path = $1", row, 1, error)
                               : status;
}

platelag_status plag_store_put_rows(plag_database *database, const plag_result *r,
                                    platelag_error *error) {
  if (r->state == PLAG_RESULT_ELSEWHERE)
    return forget_path(database, r, error);
  if (r->state == PLAG_RESULT_TROUBLED)
    return put_trouble(database, r, error);
  platelag_status status = PLATELAG_OK;
  if (r->state != PLAG_RESULT_KNOWN)
    status = put_content(database, r, error);
  for (size_t i = 0; i < r->judged_count && status == PLATELAG_OK; i++)
    status = put_judged(database, r, &r->judged[i], error);
  return status == PLATELAG_OK ? put_seen(database, r, error) : status;
}
