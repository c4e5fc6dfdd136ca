/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A source over bytes in memory, or over a pattern repeated for as long as is asked, that gives
 * them in pieces of a chosen size. */
#ifndef PLATELAG_TESTS_CHUNK_SOURCE_H
#define PLATELAG_TESTS_CHUNK_SOURCE_H

#include "platelag/capture.h"

typedef struct plag_test_chunks {
  const char *bytes;
  size_t size;
  size_t piece;    /* most bytes a read gives; 0: as many as are asked */
  uint64_t repeat; /* bytes to give in all, over and over; 0: `bytes` once */
  uint64_t given;
} plag_test_chunks;

platelag_source plag_test_chunk_source(plag_test_chunks *chunks);

#endif
