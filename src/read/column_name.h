/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The name of a column and the unit that stands in it. */
#ifndef PLAG_READ_COLUMN_NAME_H
#define PLAG_READ_COLUMN_NAME_H

#include "core/arena.h"
#include "read/rows.h"

/* Text of a header cell as people see it: quotes undone, line ends and runs of blanks one blank,
 * signs that were encoded twice put right. NULL without memory. */
char *plag_column_clean(plag_arena *arena, plag_cell cell);

/* Parts `full` into a name and a unit: "Pos [%]", "Pos (deg)", "Pos, V", "Pos/V", "Pos_pct",
 * "Pos %", "NAME ()". Only units that are known are taken off. False without memory. */
bool plag_column_part(plag_arena *arena, const char *full, const char **name, const char **unit);

/* A cell of a row of units: brackets taken off, "-" is none. NULL without memory. */
char *plag_column_unit(plag_arena *arena, const char *text);

#endif
