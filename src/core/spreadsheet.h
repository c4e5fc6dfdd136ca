/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of CSV files that people open in spreadsheets (RFC 4180). */
#ifndef PLAG_CORE_SPREADSHEET_H
#define PLAG_CORE_SPREADSHEET_H

#include "core/text.h"

/* Adds a text cell: quoted where it must be, control characters made harmless, and with a quote
 * mark before a first character that would begin a formula (= + - @ tab CR; CWE-1236), also behind
 * blanks, and behind a semicolon, where many a spreadsheet begins another cell. */
void plag_cell_add_text(plag_text *out, const char *text);

/* Adds what parts two cells, and what ends a row. */
void plag_cell_next(plag_text *out);
void plag_cell_end_row(plag_text *out);

#endif
