/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The spec: what the service information says of a valve, and the limits that the judgement uses.
 * Every key is optional. The service information overrides every default here. */
#ifndef PLATELAG_SPEC_H
#define PLATELAG_SPEC_H

#include "platelag/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* One valve's spec. Numbers that were not given are NaN where no default is named. Strings are
 * lent by the spec that holds them, NULL when not given. */
typedef struct platelag_valve_spec {
  const char *command;           /* column name of the command */
  const char *position;          /* column name of the position */
  double closed_v;               /* reading at the closed stop, V, or in the position's own unit
                                    where that is % and the stops lie beyond the reference; NaN */
  double open_v;                 /* reading at the open stop, likewise; NaN */
  double reference_v;            /* sensor reference; 5.0 */
  double tolerance_v;            /* how far a stop may read off; 0.50 */
  double high_limit_pct;         /* of reference; 90 (common practice, no source) */
  double low_limit_pct;          /* of reference; 5 (common practice, no source) */
  double hold_time_s;            /* how long past a limit counts; 0.5 */
  double t63_limit_s;            /* 0.70 */
  double stick_band_limit_pct;   /* of travel; 8 */
  double short_travel_limit_pct; /* of travel; 12 */
  double decide_at;              /* lowest probability that is a finding; 0.70 */
  bool reference_given;          /* reference_v stands in the file */
} platelag_valve_spec;

typedef struct platelag_spec platelag_spec;

/* Makes a spec of defaults only. The caller destroys it. */
PLATELAG_API platelag_status platelag_spec_create(platelag_spec **out, platelag_error *error);

/* Reads an INI file: `[valve]` holds for all valves, `[valve bank 1]` for one. An unknown section
 * or key, a number that is none and a value outside its range are refused with file and line. */
PLATELAG_API platelag_status platelag_spec_read(const char *path, platelag_spec **out,
                                                platelag_error *error);

/* Sets one key for all valves, as a line "key = value" below [valve] does. */
PLATELAG_API platelag_status platelag_spec_set(platelag_spec *spec, const char *key,
                                               const char *value, platelag_error *error);

/* Names the command and position columns for every valve (either may be NULL: not named). They
 * override what the file says. */
PLATELAG_API platelag_status platelag_spec_name_columns(platelag_spec *spec, const char *command,
                                                        const char *position,
                                                        platelag_error *error);

/* The spec of one bank (0: the only valve). Lent; never NULL. */
PLATELAG_API const platelag_valve_spec *platelag_spec_for_bank(const platelag_spec *spec, int bank);

PLATELAG_API void platelag_spec_destroy(platelag_spec *spec);

#ifdef __cplusplus
}
#endif
#endif
