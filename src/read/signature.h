/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files that are no text, told by name. */
#ifndef PLAG_READ_SIGNATURE_H
#define PLAG_READ_SIGNATURE_H

#include <stddef.h>

/* What a file that begins with these bytes is, "a PDF document"; NULL when it may be text. */
const char *plag_signature_find(const unsigned char *bytes, size_t size);

#endif
