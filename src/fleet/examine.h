/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One capture, from its path to its result. */
#ifndef PLAG_FLEET_EXAMINE_H
#define PLAG_FLEET_EXAMINE_H

#include "fleet/store.h"

/* What all workers share; read only. */
typedef struct plag_examination {
  const platelag_fleet_work *work;
  platelag_fleet_store *store;
  const plag_manifest *manifest; /* NULL: none */
  const plag_pattern *pattern;   /* NULL: none */
  const char *settings;          /* a digest of spec and options */
} plag_examination;

/* The digest that tells judgements under other limits or options apart. */
platelag_status plag_examine_settings(const platelag_fleet_work *work, char out[PLAG_KEY_BYTES],
                                      platelag_error *error);

/* Examines the capture at `path`. What is wrong with the capture stands in the result; only the
 * store's and memory's failures fail. `*outdated` tells of a known result of another version or
 * spec that was left. The caller destroys `*out`. */
platelag_status plag_examine(const plag_examination *with, platelag_workspace *workspace,
                             const char *path, plag_result **out, bool *outdated,
                             platelag_error *error);

#endif
