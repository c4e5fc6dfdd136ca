/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the store needs of a database, so that one file speaks to each: SQLite in a file, PostgreSQL
 * on a server. Statements are the same for both but for the marks below. */
#ifndef PLAG_FLEET_DATABASE_H
#define PLAG_FLEET_DATABASE_H

#include <math.h>
#include <stdbool.h>

#include "platelag/status.h"

typedef enum plag_value_kind {
  PLAG_VALUE_NULL,
  PLAG_VALUE_WHOLE,
  PLAG_VALUE_REAL,
  PLAG_VALUE_TEXT
} plag_value_kind;

/* A value bound to a statement, or a cell of a row. Text is lent: never NULL for TEXT. */
typedef struct plag_value {
  plag_value_kind kind;
  int64_t whole;
  double real;
  const char *text;
} plag_value;

static inline plag_value plag_whole(int64_t whole) {
  return (plag_value){.kind = PLAG_VALUE_WHOLE, .whole = whole};
}
/* NaN is stored as NULL. */
static inline plag_value plag_real(double real) {
  return (plag_value){.kind = isnan(real) ? PLAG_VALUE_NULL : PLAG_VALUE_REAL, .real = real};
}
static inline plag_value plag_string(const char *text) {
  return (plag_value){.kind = text != NULL ? PLAG_VALUE_TEXT : PLAG_VALUE_NULL, .text = text};
}
/* A cell as what it should be: NaN, 0 and "" for NULL. */
static inline double plag_value_real(const plag_value *value) {
  return value->kind == PLAG_VALUE_REAL    ? value->real
         : value->kind == PLAG_VALUE_WHOLE ? (double)value->whole
                                           : NAN;
}
static inline int64_t plag_value_whole(const plag_value *value) {
  return value->kind == PLAG_VALUE_WHOLE ? value->whole : 0;
}
static inline const char *plag_value_text(const plag_value *value) {
  return value->kind == PLAG_VALUE_TEXT ? value->text : "";
}

/* Takes one row, lent for the call. Anything but PLATELAG_OK ends the statement with that status.
 */
typedef platelag_status plag_take_row(void *context, const plag_value *cell, size_t count,
                                      platelag_error *error);

typedef struct plag_database plag_database;

/* One way to keep data. Statements are texts that live as long as the program (they are prepared
 * once, known by their address) with parameters $1, $2 ... that first appear in this order.
 * Marks in them: @I type of whole numbers, @R of reals, @T what ends a table's definition, @C the
 * bytewise collation. */
typedef struct plag_database_kind {
  platelag_status (*run)(plag_database *database, const char *sql, const plag_value *value,
                         size_t count, plag_take_row *take, void *context, platelag_error *error);
  void (*close)(plag_database *database);
  size_t batch; /* captures that go into one transaction at most */
  /* Statements that make ready for many small questions among writing, and for a few long ones that
   * go through everything once; NULL: all is the same. */
  const char *for_a_run, *for_a_report;
  const char *wait_turn; /* a statement that lets one process at a time pass, until its transaction
                            ends; NULL where there is only one process */
} plag_database_kind;

struct plag_database {
  const plag_database_kind *kind;
};

enum { PLAG_STATEMENTS_MOST = 64, PLAG_PARAMETERS_MOST = 24, PLAG_CELLS_MOST = 32 };

/* Opens a store in the file `path`; made when it is not there and `create`. Only one process at a
 * time: another is refused by name. */
platelag_status plag_database_open_sqlite(const char *path, bool create, plag_database **out,
                                          platelag_error *error);

/* Opens the store in the file `path` for reading alone: nothing is written, to it or beside it, so
 * that neither has to be writable. Several processes may read it at once, and none while one
 * writes. What a run that was cut off left beside it must be brought in first: then it is opened as
 * above, or refused where it cannot be written. */
platelag_status plag_database_open_sqlite_to_read(const char *path, plag_database **out,
                                                  platelag_error *error);

/* Connects to "postgresql://..."; the client library is loaded by the first call. Several processes
 * may write at once. `to_read`: what would write is refused by the server. */
platelag_status plag_database_open_postgres(const char *url, bool to_read, plag_database **out,
                                            platelag_error *error);

/* Whether a store's name means a server. */
bool plag_database_is_url(const char *name);

/* Runs a statement; `take` may be NULL. */
platelag_status plag_database_run(plag_database *database, const char *sql, const plag_value *value,
                                  size_t count, plag_take_row *take, void *context,
                                  platelag_error *error);

/* Makes ready for a run, or for a report. */
platelag_status plag_database_ready(plag_database *database, bool for_a_run, platelag_error *error);

/* Closes it; accepts NULL. */
void plag_database_close(plag_database *database);

/* The statement in a dialect: `words` in place of the marks @I, @R, @T and @C. The caller frees it;
 * NULL without memory. */
char *plag_database_translate(const char *sql, const char *const words[4]);

#endif
