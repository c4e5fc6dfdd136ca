/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * INI files that a person keeps: specs, rubrics. Sections and "key = value", read by inih, with an
 * error that names the line. */
#ifndef PLAG_CORE_INI_H
#define PLAG_CORE_INI_H

#include "platelag/status.h"

/* One key of a file. */
typedef struct plag_ini_key {
  const char *path;
  int64_t line;
  const char *section, *name, *value; /* lent for the call */
} plag_ini_key;

/* Takes a key, or refuses it; then the reading ends with that status. */
typedef platelag_status plag_take_key(void *context, const plag_ini_key *key,
                                      platelag_error *error);

/* Reads `path`, called `what` in messages ("the spec"). */
platelag_status plag_ini_read(const char *path, const char *what, plag_take_key *take,
                              void *context, platelag_error *error);

/* Refuses a key: 'what "found"; expected ...'. */
platelag_status plag_ini_refuse(const plag_ini_key *key, const char *what, const char *found,
                                const char *expected, platelag_error *error);

/* The value as a number from `low` to `high`, or a refusal that names the range. */
platelag_status plag_ini_number(const plag_ini_key *key, double low, double high, double *out,
                                platelag_error *error);

#endif
