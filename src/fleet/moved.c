/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A content that is found at a new path was moved where nothing lies at the old one any more: then
 * the old path, and whose capture it said this was, is to be forgotten. */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include "core/error.h"
#include "fleet/store.h"

enum { PATHS_MOST = 64 }; /* a content with more copies has no one place to be moved from */

static platelag_status take_path(void *context, const plag_value *cell, size_t count,
                                 platelag_error *error) {
  plag_result *result = context;
  const char *path = plag_value_text(&cell[0]);
  (void)count;
  if (result->gone_count == PATHS_MOST || strcmp(path, result->path) == 0)
    return PLATELAG_OK;
  const char *copy = plag_arena_copy_text(&result->arena, path);
  if (copy == NULL)
    return plag_error_memory(error, "a moved file's path");
  result->gone[result->gone_count++] = copy;
  return PLATELAG_OK;
}

platelag_status plag_store_find_gone(platelag_fleet_store *store, plag_result *result,
                                     platelag_error *error) {
  struct stat is;
  result->gone = plag_arena_take_array(&result->arena, PATHS_MOST, sizeof *result->gone);
  if (result->gone == NULL)
    return plag_error_memory(error, "a moved file's path");
  const platelag_status status = plag_store_ask(store, "SELECT path FROM seen WHERE key = $1",
                                                result->key, take_path, result, error);
  size_t kept = 0;
  for (size_t i = 0; i < result->gone_count; i++)
    if (stat(result->gone[i], &is) != 0 && (errno == ENOENT || errno == ENOTDIR))
      result->gone[kept++] = result->gone[i];
  result->gone_count = kept;
  return status;
}
