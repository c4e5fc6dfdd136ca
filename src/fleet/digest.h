/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture's bytes and their digest (XXH3, 128 bits, of the xxHash library). The digest is a name,
 * not a seal: it tells files apart that nobody made to collide. */
#ifndef PLAG_FLEET_DIGEST_H
#define PLAG_FLEET_DIGEST_H

#include "platelag/capture.h"

enum { PLAG_DIGEST_BYTES = 33 }; /* hexadecimal digits, terminated */

/* A file that is read and digested at once. */
typedef struct plag_digest_source {
  platelag_source source; /* to read from */
  int handle;
  const char *path;
  int64_t bytes; /* so far */
  struct XXH3_state_s *state;
} plag_digest_source;

/* Begins at the front of the open file; the caller ends it. */
platelag_status plag_digest_begin(plag_digest_source *digest, int handle, const char *path,
                                  platelag_error *error);

/* Reads on to the end and writes the digest of all. */
platelag_status plag_digest_finish(plag_digest_source *digest, char out[PLAG_DIGEST_BYTES],
                                   platelag_error *error);
void plag_digest_end(plag_digest_source *digest);

/* The digest of a text. */
void plag_digest_text(const char *text, size_t length, char out[PLAG_DIGEST_BYTES]);

#endif
