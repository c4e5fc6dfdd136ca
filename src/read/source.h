/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The bytes of a file, or of standard input. */
#ifndef PLAG_READ_SOURCE_H
#define PLAG_READ_SOURCE_H

#include "platelag/capture.h"

/* An open file. `name` is what messages call it; it is lent by the caller of plag_source_open. */
typedef struct plag_file_source {
  int descriptor;
  bool owned; /* standard input is not: it stays open */
  const char *name;
} plag_file_source;

/* Opens `path` ("-": standard input). A missing file or one that may not be opened is
 * PLATELAG_ERROR_NOT_FOUND, a folder PLATELAG_ERROR_INPUT. After success the caller ends it by
 * plag_source_close. */
platelag_status plag_source_open(const char *path, const char *name, plag_file_source *out,
                                 platelag_error *error);

/* The open file as a source; it lives as long as `file`. */
platelag_source plag_source_bytes(plag_file_source *file);

void plag_source_close(plag_file_source *file);

#endif
