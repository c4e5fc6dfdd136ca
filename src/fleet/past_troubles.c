/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines of trouble that no run would write again: a file that is gone, a folder that opens. Those
 * of files that are still there are settled when the run comes to them. */
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <sys/stat.h>

#include "core/array.h"
#include "core/error.h"
#include "fleet/store.h"

typedef struct past {
  const char **path;
  size_t count, capacity;
  plag_arena arena;
} past;

static bool is_past(const char *path) {
  struct stat is;
  if (stat(path, &is) != 0)
    return errno == ENOENT || errno == ENOTDIR;
  DIR *folder = S_ISDIR(is.st_mode) ? opendir(path) : NULL;
  if (folder != NULL)
    (void)closedir(folder);
  return folder != NULL;
}

static platelag_status take_path(void *context, const plag_value *cell, size_t count,
                                 platelag_error *error) {
  past *troubles = context;
  const char *path = plag_value_text(&cell[0]);
  (void)count;
  if (!is_past(path))
    return PLATELAG_OK;
  if (!plag_array_reserve((void **)&troubles->path, &troubles->capacity, troubles->count + 1,
                          sizeof *troubles->path))
    return plag_error_memory(error, "the troubles");
  const char *copy = plag_arena_copy_text(&troubles->arena, path);
  if (copy == NULL)
    return plag_error_memory(error, "the troubles");
  troubles->path[troubles->count++] = copy;
  return PLATELAG_OK;
}

platelag_status plag_store_forget_troubles(platelag_fleet_store *store, platelag_error *error) {
  plag_database *database = plag_store_database(store);
  past troubles = {0};
  platelag_status status =
      plag_database_run(database, "SELECT path FROM trouble", NULL, 0, take_path, &troubles, error);
  for (size_t i = 0; i < troubles.count && status == PLATELAG_OK; i++) {
    const plag_value path[] = {plag_string(troubles.path[i])};
    status = plag_database_run(database, "DELETE FROM trouble WHERE path = $1", path, 1, NULL, NULL,
                               error);
  }
  free((void *)troubles.path);
  plag_arena_clear(&troubles.arena);
  return status;
}
