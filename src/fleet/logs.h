/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Logs out of the store, valve by valve, each in order of time and parted into series. */
#ifndef PLAG_FLEET_LOGS_H
#define PLAG_FLEET_LOGS_H

#include "fleet/figures.h"
#include "fleet/store.h"

/* How a vehicle got its name. */
typedef enum plag_named_by {
  PLAG_NAMED_BY_PLACE, /* the manifest or the pattern */
  PLAG_NAMED_BY_FILE,  /* the label of a run */
  PLAG_NAMED_BY_NONE   /* the path stands for it */
} plag_named_by;

/* Repairs in order of vehicle and time. */
typedef struct plag_repairs {
  plag_repair_row *row;
  size_t count, capacity;
  plag_arena arena;
} plag_repairs;
platelag_status plag_repairs_read(platelag_fleet_store *store, plag_repairs *out,
                                  platelag_error *error);
void plag_repairs_clear(plag_repairs *repairs);

/* All logs of one valve; lent for the call. */
typedef struct plag_valve_logs {
  const char *vehicle, *valve;
  const char *engine;      /* of the latest log that tells one */
  plag_named_by named_by;  /* as the first log has it */
  platelag_fleet_log *log; /* in order of time, those without a date first */
  size_t count;
  const plag_repair_row *last_repair; /* that the last log's series began with; NULL */
  const plag_repair_row
      *repair_since; /* later than the last log, which nothing tells of yet; NULL */
} plag_valve_logs;

typedef platelag_status plag_take_valve(void *context, const plag_valve_logs *logs,
                                        platelag_error *error);

/* Which logs to visit. */
typedef struct plag_logs_wanted {
  const char *vehicle; /* NULL: of all valves, in order of vehicle and valve */
  const char *valve;
} plag_logs_wanted;

platelag_status plag_logs_visit(platelag_fleet_store *store, const plag_repairs *repairs,
                                const plag_logs_wanted *wanted, plag_take_valve *take,
                                void *context, platelag_error *error);

#endif
