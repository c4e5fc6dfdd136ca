/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One store into another. Rows are taken over as they stand; where both stores hold a capture, the
 * result of the newer program stays, and where both saw a path, the file that was changed last. */
#include <string.h>

#include "core/error.h"
#include "fleet/store.h"
#include "fleet/store_statements.h"

/* A table that is copied row by row; `sql` writes a row as it was read. */
typedef struct copying {
  plag_database *into;
  const char *sql;
} copying;

static platelag_status take_row(void *context, const plag_value *cell, size_t count,
                                platelag_error *error) {
  const copying *c = context;
  return plag_database_run(c->into, c->sql, cell, count, NULL, NULL, error);
}

static platelag_status copy(plag_database *from, plag_database *into, const char *read,
                            const char *write, platelag_error *error) {
  copying c = {into, write};
  return plag_database_run(from, read, NULL, 0, take_row, &c, error);
}

/* --- captures: all rows of one, or none ------------------------------------------------------- */

typedef struct content_copy {
  plag_database *from, *into;
} content_copy;

static platelag_status take_program(void *context, const plag_value *cell, size_t count,
                                    platelag_error *error) {
  (void)count;
  (void)error;
  const char *program = plag_value_text(&cell[0]);
  const size_t bytes = strlen(program) < 31 ? strlen(program) : 31;
  memcpy(context, program, bytes);
  ((char *)context)[bytes] = '\0';
  return PLATELAG_OK;
}

static platelag_status replace(const content_copy *c, const plag_value *row, size_t count,
                               platelag_error *error) {
  static const char *const clear[] = {"DELETE FROM figure WHERE key = $1",
                                      "DELETE FROM judged WHERE key = $1",
                                      "DELETE FROM capture WHERE key = $1"};
  static const char put[] = "INSERT INTO capture (" CAPTURE_COLUMNS ") VALUES "
                            "($1, $2, $3, $4, $5, $6, $7, $8, $9)";
  static const char judged[] = "SELECT " JUDGED_COLUMNS " FROM judged WHERE key = $1";
  static const char figures[] = "SELECT " FIGURE_COLUMNS " FROM figure WHERE key = $1";
  static const char put_judged[] = "INSERT INTO judged (" JUDGED_COLUMNS ") VALUES "
                                   "($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)";
  static const char put_figure[] = "INSERT INTO figure (" FIGURE_COLUMNS ") VALUES "
                                   "($1, $2, $3, $4, $5, $6, $7, $8)";
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < sizeof clear / sizeof clear[0] && status == PLATELAG_OK; i++)
    status = plag_database_run(c->into, clear[i], row, 1, NULL, NULL, error);
  if (status == PLATELAG_OK)
    status = plag_database_run(c->into, put, row, count, NULL, NULL, error);
  copying rows = {c->into, put_judged};
  if (status == PLATELAG_OK)
    status = plag_database_run(c->from, judged, row, 1, take_row, &rows, error);
  rows.sql = put_figure;
  if (status == PLATELAG_OK)
    status = plag_database_run(c->from, figures, row, 1, take_row, &rows, error);
  return status;
}

static platelag_status take_content(void *context, const plag_value *cell, size_t count,
                                    platelag_error *error) {
  static const char sql[] = "SELECT program FROM capture WHERE key = $1";
  const content_copy *c = context;
  char program[32] = "";
  const platelag_status status =
      plag_database_run(c->into, sql, cell, 1, take_program, program, error);
  if (status != PLATELAG_OK)
    return status;
  return strverscmp(program, plag_value_text(&cell[2])) < 0 ? replace(c, cell, count, error)
                                                            : PLATELAG_OK;
}

/* The whole list of captures is walked by one statement while others run: a server answers one at a
 * time, so the keys are gathered by pages. */
enum { PAGE_ROWS = 256 };

typedef struct page_of_keys {
  char key[PAGE_ROWS][PLAG_KEY_BYTES];
  size_t count;
} page_of_keys;

static platelag_status take_key(void *context, const plag_value *cell, size_t count,
                                platelag_error *error) {
  page_of_keys *page = context;
  (void)count;
  (void)error;
  const char *key = plag_value_text(&cell[0]);
  if (page->count < PAGE_ROWS && strlen(key) < PLAG_KEY_BYTES)
    strcpy(page->key[page->count++], key);
  return PLATELAG_OK;
}

typedef struct held_row {
  plag_value cell[PLAG_CELLS_MOST];
  size_t count;
  plag_arena arena;
} held_row;

static platelag_status hold_row(void *context, const plag_value *cell, size_t count,
                                platelag_error *error) {
  held_row *row = context;
  row->count = count;
  for (size_t i = 0; i < count; i++) {
    row->cell[i] = cell[i];
    if (cell[i].kind != PLAG_VALUE_TEXT)
      continue;
    row->cell[i].text = plag_arena_copy_text(&row->arena, cell[i].text);
    if (row->cell[i].text == NULL)
      return plag_error_memory(error, "a capture's row");
  }
  return PLATELAG_OK;
}

static platelag_status copy_content(content_copy *c, const char *key, platelag_error *error) {
  static const char sql[] = "SELECT " CAPTURE_COLUMNS " FROM capture WHERE key = $1";
  const plag_value asked[] = {plag_string(key)};
  held_row row = {0};
  platelag_status status = plag_database_run(c->from, sql, asked, 1, hold_row, &row, error);
  if (status == PLATELAG_OK && row.count > 0)
    status = take_content(c, row.cell, row.count, error);
  plag_arena_clear(&row.arena);
  return status;
}

static platelag_status copy_contents(plag_database *from, plag_database *into,
                                     platelag_error *error) {
  static const char sql[] = "SELECT key FROM capture WHERE key > $1 @C ORDER BY key @C LIMIT 256";
  content_copy c = {from, into};
  page_of_keys page;
  char last[PLAG_KEY_BYTES] = "";
  platelag_status status = PLATELAG_OK;
  do {
    const plag_value after[] = {plag_string(last)};
    page.count = 0;
    status = plag_database_run(from, sql, after, 1, take_key, &page, error);
    for (size_t i = 0; i < page.count && status == PLATELAG_OK; i++)
      status = copy_content(&c, page.key[i], error);
    if (page.count > 0)
      memcpy(last, page.key[page.count - 1], sizeof last);
  } while (status == PLATELAG_OK && page.count == PAGE_ROWS);
  return status;
}

/* --- the whole ------------------------------------------------------------------------------- */

static platelag_status copy_rest(plag_database *from, plag_database *into, platelag_error *error) {
  static const char seen[] =
      "INSERT INTO seen (" SEEN_COLUMNS ") VALUES ($1, $2, $3, $4, $5, $6, $7, $8) "
      "ON CONFLICT (path) DO UPDATE SET key = excluded.key, bytes = excluded.bytes, "
      "modified_ns = excluded.modified_ns, vehicle = excluded.vehicle, engine = excluded.engine, "
      "at_unix_s = excluded.at_unix_s, condition = excluded.condition "
      "WHERE excluded.modified_ns >= seen.modified_ns";
  static const char trouble[] = "INSERT INTO trouble (" TROUBLE_COLUMNS ") VALUES ($1, $2) "
                                "ON CONFLICT (path) DO UPDATE SET why = excluded.why";
  static const char repair[] = "INSERT INTO repair (" REPAIR_COLUMNS ") VALUES ($1, $2, $3, $4) "
                               "ON CONFLICT (vehicle, valve, at_unix_s, what) DO NOTHING";
  platelag_status status = copy(from, into, "SELECT " SEEN_COLUMNS " FROM seen", seen, error);
  if (status == PLATELAG_OK)
    status = copy(from, into, "SELECT " TROUBLE_COLUMNS " FROM trouble", trouble, error);
  if (status == PLATELAG_OK)
    status = copy(from, into, "SELECT " REPAIR_COLUMNS " FROM repair", repair, error);
  return status;
}

platelag_status platelag_fleet_store_merge(platelag_fleet_store *store, platelag_fleet_store *other,
                                           platelag_error *error) {
  plag_database *into = plag_store_database(store);
  plag_database *from = plag_store_database(other);
  platelag_error nothing = {0};
  platelag_status status = plag_database_run(into, "BEGIN", NULL, 0, NULL, NULL, error);
  if (status != PLATELAG_OK)
    return status;
  status = copy_contents(from, into, error);
  if (status == PLATELAG_OK)
    status = copy_rest(from, into, error);
  if (status == PLATELAG_OK)
    status = plag_database_run(into, "COMMIT", NULL, 0, NULL, NULL, error);
  if (status == PLATELAG_OK)
    return plag_store_forget_orphans(store, error);
  (void)plag_database_run(into, "ROLLBACK", NULL, 0, NULL, NULL, &nothing);
  return status;
}
