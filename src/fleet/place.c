/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/place.h"

#include "core/error.h"

static void place_by_pattern(const plag_pattern *pattern, const char *path, plag_arena *arena,
                             plag_place *out) {
  plag_pattern_match match;
  if (pattern == NULL || !plag_pattern_match_path(pattern, path, &match))
    return;
  if (match.vehicle_length > 0)
    out->vehicle = plag_arena_copy_bytes(arena, match.vehicle, match.vehicle_length);
  if (match.engine_length > 0)
    out->engine = plag_arena_copy_bytes(arena, match.engine, match.engine_length);
  out->dated = match.dated;
  out->at_unix_s = match.at_unix_s;
  out->condition = match.condition;
}

/* What the manifest says goes before what the path says. */
static void place_by_manifest(const plag_manifest *manifest, const char *path, plag_arena *arena,
                              plag_place *out) {
  plag_manifest_row row;
  if (manifest == NULL || !plag_manifest_find(manifest, path, &row))
    return;
  if (row.vehicle[0] != '\0')
    out->vehicle = plag_arena_copy_text(arena, row.vehicle);
  if (row.engine[0] != '\0')
    out->engine = plag_arena_copy_text(arena, row.engine);
  if (row.dated) {
    out->dated = true;
    out->at_unix_s = row.at_unix_s;
  }
  if (row.condition_given)
    out->condition = row.condition;
}

platelag_status plag_place_find(const plag_manifest *manifest, const plag_pattern *pattern,
                                const char *path, plag_arena *arena, plag_place *out,
                                platelag_error *error) {
  *out = (plag_place){.vehicle = "", .engine = "", .condition = PLATELAG_CONDITION_ROAD};
  place_by_pattern(pattern, path, arena, out);
  place_by_manifest(manifest, path, arena, out);
  return out->vehicle != NULL && out->engine != NULL ? PLATELAG_OK
                                                     : plag_error_memory(error, "a vehicle's name");
}
