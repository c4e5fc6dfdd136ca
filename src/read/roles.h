/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Roles of columns: by name and unit, or as option and spec say; and which are kept. */
#ifndef PLAG_READ_ROLES_H
#define PLAG_READ_ROLES_H

#include "read/column.h"

/* Recognises one column; names given by hand come first. */
void plag_roles_recognise(plag_column *column, const platelag_spec *spec);

/* Refuses names given by hand that no column has, or more than one; others of the same role then
 * lose it. To be asked when all columns are known. */
platelag_status plag_roles_settle(plag_column *column, size_t count, const platelag_spec *spec,
                                  const char *file, platelag_error *error);

/* Whether the column is to be kept, given those before it: candidates for command and position, and
 * the best of each other role (`whole`: all columns are known, so that the best is). */
bool plag_roles_keep(const plag_column *column, size_t count, size_t which, bool whole);

/* Whether the judgement stands on the column. */
bool plag_role_is_needed(platelag_role role);

#endif
