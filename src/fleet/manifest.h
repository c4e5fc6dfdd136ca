/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The manifest: a table in which a fleet says whose each capture is, and what was repaired when.
 * Columns (any order, all but one may be missing): file, vehicle, engine, date, condition, repair,
 * valve. A row with a file speaks of that capture; one without a file, but with a repair, of the
 * vehicle. */
#ifndef PLAG_FLEET_MANIFEST_H
#define PLAG_FLEET_MANIFEST_H

#include "core/table.h"
#include "platelag/trace.h"

typedef struct plag_manifest_row {
  const char *file; /* "": a repair alone */
  const char *vehicle, *engine;
  const char *valve;  /* that was repaired; "": all */
  const char *repair; /* what was done; "": nothing */
  bool dated;
  int64_t at_unix_s;
  bool condition_given;
  platelag_condition condition;
  int64_t line;
} plag_manifest_row;

typedef struct plag_manifest {
  const plag_manifest_row *row; /* with a file first, in order of file */
  size_t row_count, file_count;
  bool tells_repairs; /* it has a column for them */
  plag_table table;
} plag_manifest;

/* Reads it. A date, condition or file that makes no sense, a file named twice and a repair without
 * vehicle or date are refused with the line. The caller clears it. */
platelag_status plag_manifest_read(const char *path, plag_manifest *out, platelag_error *error);
void plag_manifest_clear(plag_manifest *manifest);

/* The row of a capture: the one whose file is the longest end of `path` at a folder's border, so
 * that "bus 12/monday.csv" speaks of ".../bus 12/monday.csv". NULL: none. */
const plag_manifest_row *plag_manifest_find(const plag_manifest *manifest, const char *path);

#endif
