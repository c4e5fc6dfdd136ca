/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of a line in which no quote means anything: they lie there as they stand. */
#ifndef PLAG_READ_PLAIN_LINE_H
#define PLAG_READ_PLAIN_LINE_H

#include "read/rows.h"

/* Takes blanks off both ends: libcsv does so outside quotes only, and knows no no-break space. */
void plag_cell_trim(plag_cell *cell);

/* Splits the line from `from` to its line end at `end` into at most `room` cells, trimmed; sets
 * `*rest` to what did not fit, behind `end` when all did. Returns how many there are. */
size_t plag_plain_line_split(const char *from, const char *end, char separator, plag_cell *cell,
                             size_t room, const char **rest);

#endif
