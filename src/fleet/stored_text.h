/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Names of files are bytes; a server's text is UTF-8. Each byte that is not part of a character is
 * kept as one of the private characters U+10FE80 to U+10FEFF, and read back as the byte it was. A
 * name that holds such a character itself has its four bytes kept so. */
#ifndef PLAG_FLEET_STORED_TEXT_H
#define PLAG_FLEET_STORED_TEXT_H

#include "core/text.h"

/* Whether the text can be stored as it stands. */
bool plag_stored_text_is_plain(const char *text);

/* Adds to `out` what is stored for the text. */
void plag_stored_text_pack(plag_text *out, const char *text);

/* Whether what was stored is the text itself. */
bool plag_stored_text_is_same(const char *stored);

/* Adds to `out` the text that this was stored for. */
void plag_stored_text_unpack(plag_text *out, const char *stored);

#endif
