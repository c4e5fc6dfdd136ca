/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Compressed captures, recognised by their first bytes and read as they are. */
#ifndef PLAG_READ_DECOMPRESS_H
#define PLAG_READ_DECOMPRESS_H

#include "platelag/capture.h"

typedef struct plag_decompress plag_decompress;

/* Looks at the first bytes of `source` and reads through whatever decompressor they ask for.
 * `source` and `file` must outlive it. The caller destroys `*out`. */
platelag_status plag_decompress_open(const platelag_source *source, const char *file,
                                     plag_decompress **out, platelag_error *error);

/* The decompressed bytes. A stream that is cut short, damaged, or grows beyond all measure is
 * refused where it shows. */
platelag_source plag_decompress_bytes(plag_decompress *decompress);

/* "none", "gzip", "zstd"; static. */
const char *plag_decompress_name(const plag_decompress *decompress);

void plag_decompress_destroy(plag_decompress *decompress);

/* A stream is refused as a bomb when it has made more than PLAG_BOMB_BYTES, and more than
 * PLAG_BOMB_RATIO times what was read for it. */
enum { PLAG_BOMB_BYTES = 64 << 20, PLAG_BOMB_RATIO = 500 };

#endif
