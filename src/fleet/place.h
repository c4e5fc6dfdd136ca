/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whose capture it is: what the manifest says, else the pattern of paths; what neither says is left
 * for the file itself. */
#ifndef PLAG_FLEET_PLACE_H
#define PLAG_FLEET_PLACE_H

#include "core/arena.h"
#include "fleet/manifest.h"
#include "fleet/pattern.h"

/* Texts are lent by who found them, "" where nothing says. */
typedef struct plag_place {
  const char *vehicle;
  const char *engine; /* the engine family */
  bool dated;
  int64_t at_unix_s;
  platelag_condition condition;
} plag_place;

/* Either may be NULL: not given. Texts are copied into `arena`. */
platelag_status plag_place_find(const plag_manifest *manifest, const plag_pattern *pattern,
                                const char *path, plag_arena *arena, plag_place *out,
                                platelag_error *error);

#endif
