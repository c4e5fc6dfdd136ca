/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A folder of a test's own, with files in it. */
#ifndef PLATELAG_TESTS_SCRATCH_H
#define PLATELAG_TESTS_SCRATCH_H

#include <stddef.h>

enum { PLAG_TEST_PATH_BYTES = 512 };

/* Zero-initialise; its folder is made by the first path that is asked for. */
typedef struct plag_test_scratch {
  char folder[PLAG_TEST_PATH_BYTES / 2];
} plag_test_scratch;

/* The path of `name` in it, in `path`; the test fails where there is none. Returns `path`. */
const char *plag_test_scratch_path(plag_test_scratch *scratch, const char *name,
                                   char path[PLAG_TEST_PATH_BYTES]);

/* Writes a file, and the folders that lead to it. `size` 0: a terminated text. */
void plag_test_scratch_write(plag_test_scratch *scratch, const char *name, const char *bytes,
                             size_t size);

/* Takes all of it away. */
void plag_test_scratch_clear(plag_test_scratch *scratch);

#endif
