/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The store in a file, by SQLite. One process holds it at a time; a process that dies leaves it as
 * its last whole transaction did (https://www.sqlite.org/wal.html). */
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/error.h"
#include "core/text.h"
#include "fleet/database.h"

/* "plag", so that another program's file is not taken for a store. */
#define APPLICATION_ID   "1886151015"
#define APPLICATION_NAME 1886151015

typedef struct prepared {
  const char *sql;
  sqlite3_stmt *statement;
} prepared;

typedef struct sqlite_database {
  plag_database base;
  sqlite3 *handle;
  char *path;
  int create; /* O_CREAT or 0 */
  int lock;   /* of one that only reads: a handle that holds the lock; -1: none */
  prepared statement[PLAG_STATEMENTS_MOST];
  size_t statement_count;
} sqlite_database;

/* Why: SQLite's own word hides the system's, and tries a second time for reading alone. */
static platelag_status cannot_open(const sqlite_database *database, platelag_error *error) {
  const int handle = open(database->path, O_RDWR | O_CLOEXEC | O_NONBLOCK | database->create, 0666);
  int why = handle < 0 ? errno : sqlite3_system_errno(database->handle);
  if (handle >= 0)
    (void)close(handle);
  return plag_error_set(error, why == ENOENT ? PLATELAG_ERROR_NOT_FOUND : PLATELAG_ERROR_IO,
                        database->path, 0, 0, "the store cannot be opened for writing: %s",
                        why != 0 ? strerror(why) : sqlite3_errmsg(database->handle));
}

static platelag_status failed(const sqlite_database *database, int code, platelag_error *error) {
  const int primary = code & 0xff;
  if (primary == SQLITE_NOMEM)
    return plag_error_memory(error, "the store");
  if (primary == SQLITE_BUSY || primary == SQLITE_LOCKED)
    return plag_error_set(error, PLATELAG_ERROR_IO, database->path, 0, 0,
                          "another run is at work on this store; wait until it ends");
  if (primary == SQLITE_CANTOPEN)
    return cannot_open(database, error);
  if (primary == SQLITE_NOTADB || primary == SQLITE_CORRUPT)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, database->path, 0, 0,
                          "this is no store, or a damaged one: %s",
                          sqlite3_errmsg(database->handle));
  return plag_error_set(error, PLATELAG_ERROR_IO, database->path, 0, 0, "the store: %s",
                        sqlite3_errmsg(database->handle));
}

static platelag_status prepare(sqlite_database *database, const char *sql, sqlite3_stmt **out,
                               platelag_error *error) {
  static const char *const words[4] = {"INTEGER", "REAL", " STRICT", "COLLATE BINARY"};
  for (size_t i = 0; i < database->statement_count; i++)
    if (database->statement[i].sql == sql) {
      *out = database->statement[i].statement;
      return PLATELAG_OK;
    }
  char *text = plag_database_translate(sql, words);
  if (text == NULL || database->statement_count == PLAG_STATEMENTS_MOST) {
    free(text);
    return plag_error_memory(error, "a statement");
  }
  const int code =
      sqlite3_prepare_v3(database->handle, text, -1, SQLITE_PREPARE_PERSISTENT, out, NULL);
  free(text);
  if (code != SQLITE_OK)
    return failed(database, code, error);
  database->statement[database->statement_count++] = (prepared){sql, *out};
  return PLATELAG_OK;
}

static int bind(sqlite3_stmt *statement, int at, const plag_value *value) {
  switch (value->kind) {
  case PLAG_VALUE_WHOLE:
    return sqlite3_bind_int64(statement, at, value->whole);
  case PLAG_VALUE_REAL:
    return sqlite3_bind_double(statement, at, value->real);
  case PLAG_VALUE_TEXT:
    return sqlite3_bind_text(statement, at, value->text, -1, SQLITE_STATIC);
  default:
    return sqlite3_bind_null(statement, at);
  }
}

static plag_value cell_of(sqlite3_stmt *statement, int at) {
  switch (sqlite3_column_type(statement, at)) {
  case SQLITE_INTEGER:
    return plag_whole(sqlite3_column_int64(statement, at));
  case SQLITE_FLOAT:
    return plag_real(sqlite3_column_double(statement, at));
  case SQLITE_TEXT:
    return plag_string((const char *)sqlite3_column_text(statement, at));
  default:
    return (plag_value){.kind = PLAG_VALUE_NULL};
  }
}

static platelag_status take_row(const sqlite_database *database, sqlite3_stmt *statement,
                                plag_take_row *take, void *context, platelag_error *error) {
  plag_value cell[PLAG_CELLS_MOST];
  const int count = sqlite3_column_count(statement);
  for (int i = 0; i < count && i < PLAG_CELLS_MOST; i++) {
    cell[i] = cell_of(statement, i);
    /* A text that comes back as none is one that had no memory. */
    if (cell[i].kind == PLAG_VALUE_NULL && sqlite3_errcode(database->handle) == SQLITE_NOMEM)
      return failed(database, SQLITE_NOMEM, error);
  }
  return take != NULL ? take(context, cell, (size_t)count, error) : PLATELAG_OK;
}

static platelag_status run(plag_database *base, const char *sql, const plag_value *value,
                           size_t count, plag_take_row *take, void *context,
                           platelag_error *error) {
  sqlite_database *database = (sqlite_database *)base;
  sqlite3_stmt *statement = NULL;
  platelag_status status = prepare(database, sql, &statement, error);
  int code = SQLITE_OK;
  for (size_t i = 0; i < count && status == PLATELAG_OK && code == SQLITE_OK; i++)
    code = bind(statement, (int)i + 1, &value[i]);
  while (status == PLATELAG_OK && code == SQLITE_OK) {
    code = sqlite3_step(statement);
    if (code != SQLITE_ROW)
      break;
    code = SQLITE_OK;
    status = take_row(database, statement, take, context, error);
  }
  if (status == PLATELAG_OK && code != SQLITE_OK && code != SQLITE_DONE)
    status = failed(database, code, error);
  if (statement != NULL) {
    (void)sqlite3_reset(statement);
    (void)sqlite3_clear_bindings(statement);
  }
  return status;
}

static void close_database(plag_database *base) {
  sqlite_database *database = (sqlite_database *)base;
  for (size_t i = 0; i < database->statement_count; i++)
    (void)sqlite3_finalize(database->statement[i].statement);
  (void)sqlite3_close(database->handle);
  if (database->lock >= 0)
    (void)close(database->lock);
  free(database->path);
  free(database);
}

static platelag_status take_whole(void *context, const plag_value *cell, size_t count,
                                  platelag_error *error) {
  (void)error;
  if (count > 0)
    *(int64_t *)context = plag_value_whole(&cell[0]);
  return PLATELAG_OK;
}

/* A file of another program is left alone. `*is_new`: it holds nothing yet. */
static platelag_status check_owner(sqlite_database *database, bool *is_new, platelag_error *error) {
  int64_t owner = 0;
  int64_t tables = 0;
  platelag_status status =
      run(&database->base, "PRAGMA application_id", NULL, 0, take_whole, &owner, error);
  if (status == PLATELAG_OK)
    status = run(&database->base, "SELECT COUNT(*) FROM sqlite_schema", NULL, 0, take_whole,
                 &tables, error);
  *is_new = owner == 0;
  if (status == PLATELAG_OK && owner != APPLICATION_NAME && (owner != 0 || tables > 0))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, database->path, 0, 0,
                          "this database belongs to another program, expected a store of platelag");
  return status;
}

static platelag_status run_all(sqlite_database *database, const char *const *sql, size_t count,
                               platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < count && status == PLATELAG_OK; i++)
    status = run(&database->base, sql[i], NULL, 0, NULL, NULL, error);
  return status;
}

static platelag_status set_up(sqlite_database *database, platelag_error *error) {
  static const char *const alone[] = {"PRAGMA locking_mode = EXCLUSIVE"};
  static const char *const how[] = {"PRAGMA journal_mode = WAL", "PRAGMA synchronous = NORMAL"};
  static const char *const own[] = {"PRAGMA application_id = " APPLICATION_ID};
  /* Takes the lock that this connection then keeps. */
  static const char *const lock[] = {"BEGIN EXCLUSIVE", "COMMIT"};
  bool is_new = false;
  platelag_status status = run_all(database, alone, 1, error);
  if (status == PLATELAG_OK)
    status = check_owner(database, &is_new, error);
  if (status == PLATELAG_OK)
    status = run_all(database, how, 2, error);
  if (status == PLATELAG_OK)
    status = run_all(database, lock, 2, error);
  return status == PLATELAG_OK && is_new ? run_all(database, own, 1, error) : status;
}

/* The ranking sorts as much at once as the cache may hold, and reads each page once: beyond this it
 * grows no faster. */
static const plag_database_kind KIND = {.run = run,
                                        .close = close_database,
                                        .batch = 64,
                                        .for_a_run = "PRAGMA cache_size = -2000",
                                        .for_a_report = "PRAGMA cache_size = -500"};

static sqlite_database *create_database(const char *path) {
  sqlite_database *database = calloc(1, sizeof *database);
  if (database == NULL)
    return NULL;
  database->base.kind = &KIND;
  database->lock = -1;
  database->path = strdup(path);
  if (database->path != NULL)
    return database;
  free(database);
  return NULL;
}

platelag_status plag_database_open_sqlite(const char *path, bool create, plag_database **out,
                                          platelag_error *error) {
  *out = NULL;
  sqlite_database *database = create_database(path);
  if (database == NULL)
    return plag_error_memory(error, "the store");
  database->create = create ? O_CREAT : 0;
  const int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE |
                    (create ? SQLITE_OPEN_CREATE : 0);
  const int code = sqlite3_open_v2(path, &database->handle, flags, NULL);
  platelag_status status = code == SQLITE_OK ? PLATELAG_OK : failed(database, code, error);
  if (status == PLATELAG_OK && sqlite3_db_readonly(database->handle, "main") == 1)
    status = cannot_open(database, error);
  if (status == PLATELAG_OK)
    status = set_up(database, error);
  if (status == PLATELAG_OK)
    *out = &database->base;
  else
    close_database(&database->base);
  return status;
}

/* --- for reading alone ----------------------------------------------------------------------- */

/* The bytes that SQLite locks for whoever reads (https://www.sqlite.org/fileformat.html, "The
 * Lock-Byte Page"; os.h of SQLite, SHARED_FIRST and SHARED_SIZE). Whoever writes a store locks all
 * of them for itself. */
enum { LOCK_FIRST = 0x40000002, LOCK_BYTES = 510 };

/* A file that is read as one that cannot change is not locked by SQLite. Where no lock can be had
 * at all, as on some network's disks, there is none. */
static platelag_status lock_to_read(sqlite_database *database, platelag_error *error) {
  struct flock lock = {
      .l_type = F_RDLCK, .l_whence = SEEK_SET, .l_start = LOCK_FIRST, .l_len = LOCK_BYTES};
  struct stat is;
  database->lock = open(database->path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (database->lock >= 0 && fstat(database->lock, &is) == 0 && S_ISDIR(is.st_mode))
    return plag_error_set(error, PLATELAG_ERROR_IO, database->path, 0, 0,
                          "the store cannot be opened: %s", strerror(EISDIR));
  if (database->lock < 0)
    return plag_error_set(error, errno == ENOENT ? PLATELAG_ERROR_NOT_FOUND : PLATELAG_ERROR_IO,
                          database->path, 0, 0, "the store cannot be opened: %s", strerror(errno));
  if (fcntl(database->lock, F_OFD_SETLK, &lock) != 0 && (errno == EAGAIN || errno == EACCES))
    return failed(database, SQLITE_BUSY, error);
  return PLATELAG_OK;
}

static bool holds_bytes(const char *path, const char *end) {
  struct stat is;
  char name[PATH_MAX + 16];
  (void)snprintf(name, sizeof name, "%s%s", path, end);
  return stat(name, &is) == 0 && is.st_size > 0;
}

/* The name as SQLite takes it for one of a file that does not change
 * (https://www.sqlite.org/uri.html). */
static void add_uri(plag_text *uri, const char *path) {
  plag_text_add(uri, "file:");
  for (const char *at = path; *at != '\0'; at++)
    if (strchr("?#%", *at) != NULL)
      plag_text_add_format(uri, "%%%02X", (unsigned)(unsigned char)*at);
    else
      plag_text_add_char(uri, *at);
  plag_text_add(uri, "?immutable=1");
}

/* A store is made in one transaction after it got its owner. */
static platelag_status check_made(sqlite_database *database, platelag_error *error) {
  bool is_new = false;
  const platelag_status status = check_owner(database, &is_new, error);
  if (status == PLATELAG_OK && is_new)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, database->path, 0, 0,
                          "this is no store: nothing stands in it");
  return status;
}

static platelag_status open_unchanging(sqlite_database *database, const char *whole,
                                       platelag_error *error) {
  plag_text uri = {0};
  add_uri(&uri, whole);
  const int flags =
      SQLITE_OPEN_READONLY | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
  const int code =
      uri.failed ? SQLITE_NOMEM : sqlite3_open_v2(uri.bytes, &database->handle, flags, NULL);
  plag_text_clear(&uri);
  return code == SQLITE_OK ? check_made(database, error) : failed(database, code, error);
}

/* `*cut_off`: it is not open, for captures beside it are to be brought in. */
static platelag_status open_to_read(sqlite_database *database, bool *cut_off,
                                    platelag_error *error) {
  char whole[PATH_MAX]; /* links followed: what is beside the store is beside the file itself */
  const platelag_status status = lock_to_read(database, error);
  if (status != PLATELAG_OK)
    return status;
  if (realpath(database->path, whole) == NULL)
    return plag_error_set(error, PLATELAG_ERROR_IO, database->path, 0, 0,
                          "the store cannot be opened: %s", strerror(errno));
  *cut_off = holds_bytes(whole, "-wal") || holds_bytes(whole, "-journal");
  return *cut_off ? PLATELAG_OK : open_unchanging(database, whole, error);
}

static platelag_status open_cut_off(const char *path, plag_database **out, platelag_error *error) {
  platelag_error why = {0};
  const platelag_status status = plag_database_open_sqlite(path, false, out, &why);
  if (status == PLATELAG_ERROR_IO && access(path, W_OK) != 0)
    return plag_error_set(error, status, path, 0, 0,
                          "a run that was cut off left captures beside the store; open it once "
                          "where it can be written");
  if (status != PLATELAG_OK && error != NULL)
    *error = why;
  return status;
}

platelag_status plag_database_open_sqlite_to_read(const char *path, plag_database **out,
                                                  platelag_error *error) {
  bool cut_off = false;
  *out = NULL;
  sqlite_database *database = create_database(path);
  if (database == NULL)
    return plag_error_memory(error, "the store");
  const platelag_status status = open_to_read(database, &cut_off, error);
  if (status == PLATELAG_OK && !cut_off)
    *out = &database->base;
  else
    close_database(&database->base);
  return cut_off ? open_cut_off(path, out, error) : status;
}
