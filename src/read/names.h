/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Recognising channels by name and unit. */
#ifndef PLAG_READ_NAMES_H
#define PLAG_READ_NAMES_H

#include "read/channel_names.h"
#include "read/layout.h"

typedef struct plag_name_match {
  platelag_role role;
  int bank;
  double score; /* 0..1 */
  char reason[96];
} plag_name_match;

/* What a channel of this name and unit is. A throttle, a pedal or an exhaust valve is never taken
 * for the runner valve. */
plag_name_match plag_name_recognise(const char *name, const char *unit_text, platelag_unit unit);

/* Whether `wanted` is the column's full name, or its name without unit; case and blanks do not
 * count. */
bool plag_name_fits(const plag_column_head *head, const char *wanted);

/* Whether any word of the list (NULL at its end) stands in the name. */
bool plag_name_has_word(const char *name, const char *const *words);

/* The column that the user means by `wanted`: full name or name without unit, the case and blanks
 * do not count; "#3" or "column 3" is the third. -1, and a refusal that lists the columns, the
 * closest first, when there is none, or more than one that fits equally. */
int plag_name_find(const plag_column_head *head, size_t count, const char *wanted,
                   const char *option, const char *file, platelag_error *error);

#endif
