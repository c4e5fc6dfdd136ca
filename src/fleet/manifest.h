/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The manifest: a table in which a fleet says whose each capture is, and what was repaired when.
 * Columns (any order, all but one may be missing): file, vehicle, engine, date, condition, repair,
 * valve. A row with a file speaks of that capture; one without a file, but with a repair, of the
 * vehicle. Fleets are large: a row is kept in some fifty bytes. */
#ifndef PLAG_FLEET_MANIFEST_H
#define PLAG_FLEET_MANIFEST_H

#include "core/text.h"
#include "platelag/trace.h"

/* What a row says of its capture. Texts are lent by the manifest, "" where nothing stands. */
typedef struct plag_manifest_row {
  const char *file, *vehicle, *engine;
  bool dated;
  int64_t at_unix_s;
  bool condition_given;
  platelag_condition condition;
  int64_t line;
} plag_manifest_row;

/* A repair that the manifest tells, in a row with a file or without. */
typedef struct plag_repair_row {
  const char *vehicle;
  const char *valve; /* that was repaired; "": all */
  const char *what;
  int64_t at_unix_s;
} plag_repair_row;

typedef struct plag_manifest {
  struct plag_manifest_file *file; /* in order of file */
  size_t file_count, file_capacity;
  struct plag_manifest_repair *repair; /* in order of line */
  size_t repair_count, repair_capacity;
  plag_text words;    /* that rows point into */
  bool tells_repairs; /* it has a column for them */
} plag_manifest;

/* Reads it. A date, condition or file that makes no sense, a file named twice and a repair without
 * vehicle or date are refused with the line; then it holds nothing. The caller clears it. */
platelag_status plag_manifest_read(const char *path, plag_manifest *out, platelag_error *error);
void plag_manifest_clear(plag_manifest *manifest);

/* The row of a capture: the one whose file is the longest end of `path` at a folder's border, so
 * that "bus 12/monday.csv" speaks of ".../bus 12/monday.csv". False: none. */
bool plag_manifest_find(const plag_manifest *manifest, const char *path, plag_manifest_row *out);

plag_manifest_row plag_manifest_row_at(const plag_manifest *manifest, size_t index);
plag_repair_row plag_manifest_repair_at(const plag_manifest *manifest, size_t index);

#endif
