/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/chunk_source.h"

#include <string.h>

static platelag_status read_chunk(void *context, void *bytes, size_t size, size_t *got,
                                  platelag_error *error) {
  (void)error;
  plag_test_chunks *chunks = context;
  const uint64_t all = chunks->repeat > 0 ? chunks->repeat : chunks->size;
  if (chunks->piece > 0 && size > chunks->piece)
    size = chunks->piece;
  if (size > all - chunks->given)
    size = (size_t)(all - chunks->given);
  for (size_t made = 0; made < size;) {
    const size_t at = (size_t)(chunks->given % chunks->size);
    const size_t held = chunks->size - at < size - made ? chunks->size - at : size - made;
    memcpy((char *)bytes + made, chunks->bytes + at, held);
    chunks->given += held;
    made += held;
  }
  *got = size;
  return PLATELAG_OK;
}

platelag_source plag_test_chunk_source(plag_test_chunks *chunks) {
  return (platelag_source){.context = chunks, .read = read_chunk};
}
