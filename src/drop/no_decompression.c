/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine without decompressors: bytes are read as they are. Who gives it captures unpacks them
 * first; what is compressed all the same is refused as binary. */
#include <stdlib.h>

#include "core/error.h"
#include "read/decompress.h"

struct plag_decompress {
  platelag_source source;
};

platelag_status plag_decompress_open(const platelag_source *source, const char *file,
                                     plag_decompress **out, platelag_error *error) {
  (void)file;
  *out = malloc(sizeof **out);
  if (*out == NULL)
    return plag_error_memory(error, "a capture");
  (*out)->source = *source;
  return PLATELAG_OK;
}

platelag_source plag_decompress_bytes(plag_decompress *decompress) {
  return decompress->source;
}

const char *plag_decompress_name(const plag_decompress *decompress) {
  (void)decompress;
  return "none";
}

void plag_decompress_destroy(plag_decompress *decompress) {
  free(decompress);
}
