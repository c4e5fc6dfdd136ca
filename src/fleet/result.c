/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/result.h"

#include <stdlib.h>

plag_result *plag_result_create(const char *path) {
  plag_result *result = calloc(1, sizeof *result);
  if (result == NULL)
    return NULL;
  result->path = plag_arena_copy_text(&result->arena, path);
  result->settings = "";
  result->why = "";
  if (result->path != NULL)
    return result;
  plag_result_destroy(result);
  return NULL;
}

void plag_result_destroy(plag_result *result) {
  if (result == NULL)
    return;
  plag_arena_clear(&result->arena);
  free(result);
}
