/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Breaking text into lines. */
#ifndef PLAG_CORE_WRAP_H
#define PLAG_CORE_WRAP_H

#include <stdbool.h>
#include <stddef.h>

#include "core/text.h"

/* Takes the next line of at most `width` characters (at least 1) from `*rest`, broken at a blank
 * where there is one, and not between a number and its unit where there is another. False at the
 * end of the text. */
bool plag_wrap_next(const char **rest, size_t width, const char **line, size_t *length);

/* Adds `text` in lines of at most `width` characters, all but the first indented by `hang` blanks;
 * the first begins in column `column`. Ends with a line end. */
void plag_wrap_add(plag_text *out, const char *text, size_t width, size_t column, size_t hang);

void plag_wrap_add_blanks(plag_text *out, size_t count);

#endif
