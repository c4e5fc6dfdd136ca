/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stored trouble codes in cells: letters of the system and four hexadecimal digits, "P2017" (ISO
 * 15031-6). */
#ifndef PLAG_READ_CODES_H
#define PLAG_READ_CODES_H

#include "read/rows.h"

/* Adds each code in `cell` that `codes` does not hold yet, parted by commas, as long as there is
 * room; `size` is that of `codes`, a string. */
void plag_codes_take(char *codes, size_t size, plag_cell cell);

#endif
