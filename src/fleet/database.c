/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is the same for every kind of database. */
#include "fleet/database.h"

#include <string.h>

#include "core/text.h"

bool plag_database_is_url(const char *name) {
  return strncmp(name, "postgresql://", 13) == 0 || strncmp(name, "postgres://", 11) == 0;
}

platelag_status plag_database_run(plag_database *database, const char *sql, const plag_value *value,
                                  size_t count, plag_take_row *take, void *context,
                                  platelag_error *error) {
  return database->kind->run(database, sql, value, count, take, context, error);
}

platelag_status plag_database_ready(plag_database *database, bool for_a_run,
                                    platelag_error *error) {
  const plag_database_kind *kind = database->kind;
  const char *sql = for_a_run ? kind->for_a_run : kind->for_a_report;
  return sql != NULL ? plag_database_run(database, sql, NULL, 0, NULL, NULL, error) : PLATELAG_OK;
}

void plag_database_close(plag_database *database) {
  if (database != NULL)
    database->kind->close(database);
}

char *plag_database_translate(const char *sql, const char *const words[4]) {
  static const char marks[] = "IRTC";
  plag_text text = {0};
  for (const char *at = sql; *at != '\0'; at++) {
    const char *mark = at[0] == '@' && at[1] != '\0' ? strchr(marks, at[1]) : NULL;
    if (mark != NULL) {
      plag_text_add(&text, words[mark - marks]);
      at++;
    } else {
      plag_text_add_char(&text, *at);
    }
  }
  if (!text.failed)
    return text.bytes;
  plag_text_clear(&text);
  return NULL;
}
